#include "daemon/web/zone_now.h"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "daemon/web/html.h"
#include "daemon/web/zone_range.h"

namespace coilward {
namespace {

// Shares of the normal draw, own choice: below the first nothing flows that opens a valve, from the second on
// the splice has made contact and what is missing is small.
constexpr double kNothingShare = 0.05, kNearShare = 0.85;
// A single reading wanders, and a cold coil takes a little more: so much beside the band of whole runs.
constexpr double kBesideBand = 0.03;
constexpr double kPaces = 2.5;  // gaps between readings until one is missing
constexpr Millis kLongestFresh = std::chrono::seconds{30};
constexpr double kMostShare = 3;  // "over 300 %"

DrawLevel level_of(const ZoneNow& now) {
  if (!measured(now.amps)) return DrawLevel::unheard;
  if (!measured(now.share) || !measured(now.normal.hold_low)) return DrawLevel::unlearned;
  const double beside = kBesideBand * now.normal.hold_amps;
  if (now.share < kNothingShare) return DrawLevel::nothing;
  if (now.amps > now.normal.hold_high + beside) return DrawLevel::above;
  if (now.amps >= now.normal.hold_low - beside) return DrawLevel::normal;
  return now.share >= kNearShare ? DrawLevel::near : DrawLevel::below;
}

// By the usual gap between readings of the last minute.
Millis fresh_for(const std::deque<StripPoint>& strip) {
  std::vector<double> gaps;
  for (std::size_t i = 1; i < strip.size(); ++i)
    gaps.push_back(static_cast<double>((strip[i].time - strip[i - 1].time).count()));
  if (gaps.empty()) return kFresh;
  std::nth_element(gaps.begin(), gaps.begin() + static_cast<std::ptrdiff_t>(gaps.size() / 2), gaps.end());
  return std::clamp(Millis{std::llround(kPaces * gaps[gaps.size() / 2])}, kFresh, kLongestFresh);
}

}  // namespace

void ZoneWatch::add(UtcTime time, double amps) {
  if (time == kNever || !measured(amps)) return;
  if (strip_.empty() || time > strip_.back().time) strip_.push_back({time, amps});
}

// The file once; what came since is not in it yet, or is the latest reading.
void ZoneWatch::take(UtcTime from) {
  const auto pending = site_.pending_readings(current_channel(zone_));
  std::vector<Reading> list;
  if (!begun_) {
    const auto reader = site_.open_history();
    auto page = reader ? reader->page(current_channel(zone_), from, from + 2 * kStrip, pending)
                       : Result<ReadingPage>(reader.error());
    if (page) list = std::move(page->readings);
  }
  if (list.empty()) list = pending;
  std::stable_sort(list.begin(), list.end(),
                   [](const Reading& a, const Reading& b) { return a.time < b.time; });
  for (const Reading& r : list)
    if (r.time >= from) add(r.time, r.value);
  begun_ = true;
}

ZoneNow ZoneWatch::look() {
  ZoneNow now;
  now.zone = zone_;
  const UtcTime present = site_.now();
  take(present - kStrip);
  for (const ZoneState& zone : site_.zones()) {
    if (zone.number != zone_) continue;
    now.amps = zone.latest_amps;
    now.time = zone.latest_time;
    now.normal = zone.normal;
    now.on = zone.on;
  }
  add(now.time, now.amps);
  while (!strip_.empty() && strip_.front().time < present - kStrip) strip_.pop_front();
  if (now.normal.hold_amps > 0) now.share = now.amps / now.normal.hold_amps;
  now.level = level_of(now);
  now.fresh_for = fresh_for(strip_);
  now.age = now.time == kNever ? Millis::max() : std::max(Millis{0}, present - now.time);
  for (const TestRun& run : site_.test_runs())
    if (now.test.empty() && run.zone == zone_ && is_shown(run, present))
      now.test = test_run_words(run, present);
  now.stale = !measured(now.amps) || now.age > now.fresh_for;
  return now;
}

std::string_view level_name(DrawLevel level) {
  constexpr std::string_view names[] = {"unheard", "nothing", "below",    "near",
                                        "normal",  "above",   "unlearned"};
  return names[static_cast<std::size_t>(level)];
}

std::string_view level_words(DrawLevel level) {
  constexpr std::string_view words[] = {
      "no reading yet", "nothing",      "well below normal",        "near normal",
      "normal",         "above normal", "normal is not learned yet"};
  return words[static_cast<std::size_t>(level)];
}

std::string_view level_icon(DrawLevel level) {
  constexpr std::string_view icons[] = {"silent", "unseen", "watch", "part", "fine", "soon", "learning"};
  return icons[static_cast<std::size_t>(level)];
}

std::string figure_text(const ZoneNow& now) {
  if (!measured(now.amps)) return "–";
  if (!measured(now.share)) return amps_text(now.amps);
  if (now.share > kMostShare) return fmt::format("over {:.0f} %", 100 * kMostShare);
  return fmt::format("{:.0f} %", std::abs(100 * now.share));
}

std::string on_words(const ZoneNow& now) {
  return now.on ? "The zone is on" : "The zone is not seen to be on";
}

std::string age_words(const ZoneNow& now) {
  if (now.time == kNever) return "never read";
  return now.age < std::chrono::milliseconds{1500} ? "read just now" : "read " + span_text(now.age) + " ago";
}

std::string state_words(const ZoneNow& now) {
  if (!measured(now.amps)) return std::string(level_words(DrawLevel::unheard));
  return now.stale ? "stale, not live" : std::string(level_words(now.level));
}

}  // namespace coilward
