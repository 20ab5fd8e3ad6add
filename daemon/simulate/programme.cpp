#include "daemon/simulate/programme.h"
#include "daemon/simulate/day.h"

#include <date/tz.h>

#include <algorithm>
#include <stdexcept>

namespace coilward::simulate {
namespace {

// The instant of a local wall-clock minute, in seconds since the start.
double instant_of(date::local_days day, int minute, UtcTime start, const std::string& timezone) {
  const auto local = day + std::chrono::minutes(minute);
  std::chrono::seconds utc = local.time_since_epoch();
  try {
    utc = date::make_zoned(timezone, local, date::choose::earliest).get_sys_time().time_since_epoch();
  } catch (const std::runtime_error&) {  // no such zone here: as UTC
  }
  return static_cast<double>(utc.count()) - static_cast<double>(to_ms(start)) / 1000;
}

date::local_days local_date(UtcTime start, const std::string& timezone, int day) {
  const auto seconds =
      date::sys_seconds{std::chrono::duration_cast<std::chrono::seconds>(start.time_since_epoch())};
  date::local_days first{std::chrono::floor<date::days>(seconds.time_since_epoch())};
  try {
    first = std::chrono::floor<date::days>(date::make_zoned(timezone, seconds).get_local_time());
  } catch (const std::runtime_error&) {
  }
  return first + date::days(day);
}

bool rained_off(const ProgrammePlan& plan, double time) {
  for (const auto& [from, to] : plan.rain_delays)
    if (time >= from * kDay && time < to * kDay) return true;
  return false;
}

enum class Missed { no, silent, skipped };
Missed missed(const std::vector<FaultPlan>& faults, int zone, double time) {
  for (const FaultPlan& fault : faults)
    if (fault.fault == Fault::missed_run && fault.zone == zone && is_active(fault, time))
      return fault.skipped ? Missed::skipped : Missed::silent;
  return Missed::no;
}

// Appends one start of a programme; returns when it is over.
double run_through(const Programme& programme, const std::vector<FaultPlan>& faults, double begin,
                   bool master, std::vector<Command>& out) {
  double at = begin;
  for (const Turn& turn : programme.turns) {
    bool skipped = true;
    for (const int zone : turn.zones) {
      const Missed how = missed(faults, zone, at);
      if (how != Missed::skipped) skipped = false;
      if (how != Missed::no) continue;
      out.push_back({at, zone, true});
      out.push_back({at + turn.seconds, zone, false});
    }
    if (!skipped) at += turn.seconds + programme.gap_s;
  }
  if (master && at > begin)
    out.push_back({begin - 1.5, kMasterZone, true}), out.push_back({at + 2, kMasterZone, false});
  return at;
}

}  // namespace

std::vector<Command> commands_of_day(const ProgrammePlan& plan, const std::vector<FaultPlan>& faults,
                                     UtcTime start, const std::string& timezone, int day) {
  const date::local_days date = local_date(start, timezone, day);
  const unsigned weekday = date::weekday(date).c_encoding();
  std::vector<std::pair<double, const Programme*>> starts;
  for (const Programme& programme : plan.programmes) {
    if (!(programme.weekdays >> weekday & 1) || day < programme.from_day || day >= programme.to_day) continue;
    for (const int minute : programme.start_minutes)
      starts.emplace_back(instant_of(date, minute, start, timezone) + plan.drift_s * day, &programme);
    for (double at = day * kDay; programme.every_seconds > 0 && at < (day + 1) * kDay;
         at += programme.every_seconds)
      starts.emplace_back(at + 1, &programme);
  }
  std::sort(starts.begin(), starts.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<Command> commands;
  double free = 0;
  for (const auto& [at, programme] : starts)
    if (at >= 0 && !rained_off(plan, at))
      free = run_through(*programme, faults, std::max(at, free), plan.master_runs, commands);
  std::stable_sort(commands.begin(), commands.end(),
                   [](const Command& a, const Command& b) { return a.time < b.time; });
  return commands;
}

}  // namespace coilward::simulate
