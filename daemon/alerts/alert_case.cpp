#include "daemon/alerts/alert_case.h"

#include <fmt/format.h>

#include <algorithm>
#include <string_view>

namespace coilward {
namespace {

template <class T>
bool contains(const std::vector<T>& all, const T& one) {
  return std::find(all.begin(), all.end(), one) != all.end();
}

template <class T>
void add(std::vector<T>& all, const T& one) {
  if (!contains(all, one)) all.push_back(one);
}

// Findings of one family at one place are one trouble under several names.
std::string_view family(Fault fault) {
  switch (fault) {
    case Fault::supply_low:
    case Fault::supply_lost:
      return "supply";
    case Fault::sensor_fault:
      return "sensor";
    case Fault::missed_run:
      return "timetable";
    case Fault::stuck_on:
      return "stuck_on";
    default:
      return "wiring";
  }
}

Millis hours(double count) { return Millis{static_cast<std::int64_t>(count * 3600e3)}; }
Millis seconds(double count) { return Millis{static_cast<std::int64_t>(count * 1e3)}; }

}  // namespace

std::string cause_key(const Finding& finding) {
  const auto kind = family(finding.fault);
  if (kind == "supply") return "supply";
  if (!finding.common.empty()) return fmt::format("{}/common {}", kind, finding.common);
  return fmt::format("{}/zones {}", kind, fmt::join(finding.zones, ","));
}

bool withdrawn(const Finding& finding) { return finding.close_reason.starts_with("withdrawn"); }

bool merged(const Finding& finding) {
  return finding.close_reason.find("one cause with ") != std::string::npos;
}

bool not_repaired(const Finding& finding) { return finding.repair && !finding.repair->proved.value_or(true); }

bool repair_proved(const Finding& finding) {
  return finding.repair && finding.repair->proved.value_or(false);
}

void AlertCase::hear_open(const Finding& latest, UtcTime now) {
  const bool continues = active && (gone == kNever || told);
  if (continues && gone != kNever) {
    ++times;
    seen = now;
  }
  finding = latest;
  gone = kNever;
  if (!continues) start_opening(now);
  told_not_repaired = told_not_repaired && not_repaired(latest);
  if (told) note_news(now);
}

void AlertCase::start_opening(UtcTime now) {
  active = true;
  told = false;
  seen = now;
  news_at = kNever;
  if (last_gone == kNever || now - last_gone > kComesAndGoes) times = 0;
}

void AlertCase::hear_closed(const Finding& latest, UtcTime now) {
  if (!active || gone != kNever) return;
  finding = latest;
  news_at = kNever;
  if (!told) {
    active = false;
    return;
  }
  gone = now;
  if (merged(finding)) mark_closed();
}

// Told values only grow, so that a cause that swings between two names or sizes is news once each.
void AlertCase::note_news(UtcTime now) {
  const bool more_zones = std::any_of(finding.zones.begin(), finding.zones.end(),
                                      [this](int zone) { return !contains(told_zones, zone); });
  const bool worse = finding.severity > told_severity || more_zones;
  const bool repair_failed = not_repaired(finding) && !told_not_repaired;
  if (!worse && !repair_failed && contains(told_faults, finding.fault)) {
    news_at = kNever;
    return;
  }
  if (news_at == kNever) news_at = now;
  news_is_worse = worse;
}

std::optional<AlertStep> AlertCase::next_step(const AlertConfig& rules) const {
  if (!active) return std::nullopt;
  if (!told) return AlertStep{AlertKind::opened, seen + seconds(rules.hold_s)};
  if (news_at != kNever && (news_is_worse || !flapping))
    return AlertStep{AlertKind::worse, news_at, news_is_worse};
  if (flapping) return flapping_step();
  if (gone != kNever) return AlertStep{AlertKind::closed, gone + seconds(rules.clear_hold_s)};
  if (snoozed()) return AlertStep{AlertKind::repeat, acknowledged_until};
  if (acknowledged || rules.repeat_h.empty()) return std::nullopt;
  return AlertStep{AlertKind::repeat, repeat_time(repeats, rules)};
}

// Quiet until the time is up; then its state is said once, if it is over only after it stayed away a day.
std::optional<AlertStep> AlertCase::flapping_step() const {
  if (gone != kNever) return AlertStep{AlertKind::closed, std::max(quiet_until, gone + kComesAndGoes)};
  if (snoozed()) return AlertStep{AlertKind::repeat, std::max(quiet_until, acknowledged_until)};
  if (acknowledged) return std::nullopt;
  return AlertStep{AlertKind::repeat, quiet_until};
}

UtcTime AlertCase::repeat_time(int index, const AlertConfig& rules) const {
  const int given = static_cast<int>(rules.repeat_h.size());
  const double last = std::max(rules.repeat_h.back(), 1.0 / 60);  // never a loop without end
  return repeats_from + hours(index < given ? rules.repeat_h[index] : last * (index - given + 2));
}

void AlertCase::mark_told(AlertKind kind, UtcTime at, UtcTime now, const AlertConfig& rules) {
  ++ordinals[static_cast<std::size_t>(kind)];
  said.push_back(at);
  while (static_cast<int>(said.size()) > std::max(1, rules.max_per_hour)) said.pop_front();
  if (kind == AlertKind::closed) return mark_closed();
  note_told_values();
  if (kind == AlertKind::opened) mark_opened(at);
  if (kind == AlertKind::repeat) mark_repeat(at, now, rules);
  if (kind != AlertKind::worse) return;
  news_at = kNever;
  if (!news_is_worse) return;
  acknowledged = false;
  acknowledged_until = kNever;
  repeats_from = at;
  repeats = 0;
}

void AlertCase::mark_opened(UtcTime at) {
  told = true;
  repeats_from = at;
  repeats = 0;
  if (++times >= 2) start_quiet(at);
}

void AlertCase::start_quiet(UtcTime at) {
  flapping = true;
  quiet_since = at;
  quiet_until = at + std::min(kLongestQuiet, kComesAndGoes * (1 << std::min(quiet_level, 8)));
  ++quiet_level;
}

void AlertCase::mark_repeat(UtcTime at, UtcTime now, const AlertConfig& rules) {
  if (snoozed()) acknowledged = false;
  acknowledged_until = kNever;
  if (flapping && seen > quiet_since) return start_quiet(at);
  if (flapping) {  // it has stayed through the whole quiet time: an ordinary open finding from now on
    flapping = false;
    repeats_from = at;
    repeats = std::max(0, static_cast<int>(rules.repeat_h.size()) - 1);
    return;
  }
  const int before = repeats;
  while (repeat_time(repeats, rules) <= std::max(at, now)) ++repeats;
  // Each repeat hour has its own number, whether it was said or missed.
  ordinals[static_cast<std::size_t>(AlertKind::repeat)] += std::max(0, repeats - before - 1);
}

void AlertCase::acknowledge(std::string_view who, UtcTime now, UtcTime until) {
  acknowledged = true;
  acknowledged_until = until;
  acknowledged_by = who;
  acknowledged_at = now;
  if (told) return;
  note_told_values();
  mark_opened(now);
}

void AlertCase::note_told_values() {
  told_severity = std::max(told_severity, finding.severity);
  for (int zone : finding.zones) add(told_zones, zone);
  add(told_faults, finding.fault);
  told_not_repaired = not_repaired(finding);
}

void AlertCase::mark_closed() {
  active = told = flapping = acknowledged = false;
  acknowledged_until = kNever;
  last_gone = gone;
  gone = kNever;
  told_severity = Severity::watch;
  told_zones.clear();
  told_faults.clear();
  told_not_repaired = false;
  repeats = 0;
}

}  // namespace coilward
