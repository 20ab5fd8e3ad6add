#include "daemon/web/zone_range.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace coilward {
namespace {

using std::chrono::hours;

constexpr Millis kBesideRun = std::chrono::seconds{10};
constexpr double kRunPoints = 400;  // steps of a single run, at least 0.1 s long

ZoneRange range_of_run(const RangeKind& kind, const Run& run, UtcTime now) {
  const Millis beside = std::min(kBesideRun, Millis{(run.end - run.start).count() / 5 + 500});
  ZoneRange range{&kind, run.start - beside, std::min(now, run.end + beside)};
  const double length = seconds_between(range.from, range.until);
  range.every_s = std::ceil(10 * length / kRunPoints) / 10;
  return range;
}

}  // namespace

const std::vector<RangeKind>& range_kinds() {
  static const std::vector<RangeKind> kinds = {
      {"run", "Run", Millis{0}, 1},
      {"day", "Day", hours{24}, 120},
      {"week", "Week", hours{7 * 24}, 900},
      {"month", "Month", hours{30 * 24}, 3600},
      {"year", "Year", hours{365 * 24}, 43'200},
  };
  return kinds;
}

Result<ZoneRange> zone_range(const std::string& name, std::optional<UtcTime> until,
                             const std::vector<Run>& runs, UtcTime now) {
  const std::string wanted = !name.empty() ? name : runs.empty() ? "day" : "run";
  const auto kind = std::find_if(range_kinds().begin(), range_kinds().end(),
                                 [&](const RangeKind& k) { return k.name == wanted; });
  if (kind == range_kinds().end())
    return Error{Cause::bad_input,
                 fmt::format("range is '{}': allowed are run, day, week, month and year", name)};
  const UtcTime end = std::min(until.value_or(now), now);
  if (kind->length.count() == 0 && !runs.empty()) {
    ZoneRange range = range_of_run(*kind, runs.front(), now);
    range.newest = !until;
    return range;
  }
  const Millis length = kind->length.count() == 0 ? Millis{hours{1}} : kind->length;
  return ZoneRange{&*kind, end - length, end, kind->length.count() == 0 ? 5 : kind->every_s, !until};
}

Result<std::vector<Run>> latest_runs(const SiteAccess& site, int zone, UtcTime from, UtcTime until,
                                     std::size_t most) {
  std::vector<Run> runs;
  for (const Run& run : site.pending_runs())
    if (run.zone == zone && run.start >= from && run.start < until) runs.push_back(run);
  const std::size_t pending = runs.size();
  const auto reader = site.open_history();
  if (!reader && reader.error().cause != Cause::not_found) return reader.error();
  if (reader) {
    auto kept = reader->runs({zone, from, until, most, true});
    if (!kept) return kept.error();
    for (Run& run : *kept)
      if (std::none_of(runs.begin(), runs.begin() + static_cast<std::ptrdiff_t>(pending),
                       [&](const Run& p) { return p.start == run.start; }))
        runs.push_back(std::move(run));
  }
  std::sort(runs.begin(), runs.end(), [](const Run& a, const Run& b) { return a.start > b.start; });
  if (runs.size() > most) runs.resize(most);
  return runs;
}

Channel current_channel(int zone) {
  if (zone == kMasterZone) return {ChannelKind::master_current, 0};
  return {ChannelKind::zone_current, static_cast<std::uint8_t>(zone)};
}

std::string step_text(double every_s) {
  const auto ms = std::llround(every_s * 1000);
  return ms % 1000 ? fmt::format("{}ms", ms) : fmt::format("{}s", ms / 1000);
}

}  // namespace coilward
