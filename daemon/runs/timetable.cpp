#include "daemon/runs/timetable.h"

#include <algorithm>
#include <cmath>

#include "daemon/runs/level.h"

namespace coilward {
namespace {

constexpr int kEnd = -1, kUnknown = -2;
// Runs further apart than this belong to two cycles (common practice: stations follow one another at once,
// with soak pauses of some minutes at most).
constexpr double kCycleGapSeconds = 30 * 60;
// Remembered turns, and how many of them must agree.
constexpr std::size_t kRemembered = 8, kLearned = 3;
constexpr double kAgree = 0.8;
// Starts of cycles: so many are remembered, and so many of them must foretell the same.
constexpr std::size_t kBeginsRemembered = 24;
constexpr int kBeginsAgree = 3;
constexpr double kDaySeconds = 86400;
// Once may be by hand; in the next cycle too, it is told.
constexpr int kSkipsTold = 2;
// Zones that start within this of each other share a turn: no turn is as short.
constexpr double kTogetherSeconds = 30;
// Controllers keep their minutes to a few seconds.
double slack(double seconds) { return 20 + 0.05 * seconds; }

constexpr std::size_t kMostWaiting = 8, kMostMissed = 32;

template <class T>
void remember(std::vector<T>& list, T value) {
  if (list.size() >= kRemembered) list.erase(list.begin());
  list.push_back(value);
}

double middle(std::vector<double> values) { return median(values); }

}  // namespace

int Timetable::usual_next(int zone) const {
  const auto it = after_.find(zone);
  if (it == after_.end() || it->second.zones.size() < kLearned) return kUnknown;
  // The latest ones alone, where they agree: the programme was set anew.
  const std::vector<int> latest(it->second.zones.end() - kLearned, it->second.zones.end());
  if (std::count(latest.begin(), latest.end(), latest.front()) == kLearned) return latest.front();
  for (int next : it->second.zones)
    if (static_cast<double>(std::count(it->second.zones.begin(), it->second.zones.end(), next)) >=
        kAgree * static_cast<double>(it->second.zones.size()))
      return next;
  return kUnknown;
}

double Timetable::usual_gap(int zone) const { return middle(after_.at(zone).gap_s); }

double Timetable::usual_length(int zone) const {
  const auto it = length_s_.find(zone);
  return it == length_s_.end() || it->second.size() < kLearned ? kNotMeasured : middle(it->second);
}

void Timetable::note_next(int zone, int next, double gap_s) {
  After& after = after_[zone];
  remember(after.zones, next);
  if (next != kEnd) remember(after.gap_s, gap_s);
}

// From the last zone's usual follower onwards until the one that did start: whether it started as late as if
// they had run, and they.
bool Timetable::leads_to(int last, UtcTime last_end, int next, UtcTime start,
                         std::vector<TurnMissed>& missed) const {
  UtcTime at = last_end;
  for (int zone = last; missed.size() < kMostMissed;) {
    const int follower = usual_next(zone);
    if (follower == kUnknown || follower == kEnd) return false;
    at += Millis{static_cast<std::int64_t>(1000 * usual_gap(zone))};
    if (follower == next) break;
    const double length = usual_length(follower);
    if (!measured(length)) return false;
    const UtcTime end = at + Millis{static_cast<std::int64_t>(1000 * length)};
    missed.push_back({follower, at, end, true});
    at = end;
    zone = follower;
  }
  const double total = seconds_between(last_end, at);
  return std::abs(seconds_between(at, start)) <= slack(total);
}

std::vector<TurnMissed> Timetable::missing_between(int last, int next, UtcTime last_end,
                                                   UtcTime start) const {
  std::vector<TurnMissed> missed;
  return leads_to(last, last_end, next, start, missed) ? missed : std::vector<TurnMissed>{};
}

// The first zone of a cycle is missed when the cycle's later ones start as late as if it had begun at its
// usual time of day.
std::vector<TurnMissed> Timetable::missing_before(int zone, UtcTime start) const {
  std::map<int, int> agree;
  for (const Begin& usual : begins_) {
    const double days = std::floor(seconds_between(usual.start, start) / kDaySeconds + 0.01);
    const UtcTime at = usual.start + Millis{static_cast<std::int64_t>(1000 * kDaySeconds * days)};
    if (usual.zone == zone) {
      if (std::abs(seconds_between(at, start)) <= slack(0)) return {};
      continue;
    }
    const double length = usual_length(usual.zone);
    if (!measured(length)) continue;
    const UtcTime end = at + Millis{static_cast<std::int64_t>(1000 * length)};
    std::vector<TurnMissed> missed = {{usual.zone, at, end, true}};
    if (leads_to(usual.zone, end, zone, start, missed) && ++agree[usual.zone] >= kBeginsAgree) return missed;
  }
  return {};
}

std::vector<TurnMissed> Timetable::started(int zone, UtcTime start) {
  const bool runs = last_ >= 0 && last_end_ == kNever;
  if (runs && waiting_.empty() && !together_.holds(zone) &&
      std::abs(seconds_between(last_start_, start)) <= kTogetherSeconds) {
    together_.joined(zone);
    seen_.push_back(zone);
    return {};
  }
  if (!runs || together_.holds(zone)) return begin(zone, start);
  if (waiting_.size() < kMostWaiting) waiting_.push_back({zone, start, kNever});
  return {};
}

std::vector<TurnMissed> Timetable::with_partners(std::vector<TurnMissed> missed) const {
  for (std::size_t i = 0, turns = missed.size(); i < turns; ++i)
    for (int partner : together_.partners(missed[i].zone)) {
      missed.push_back(missed[i]);
      missed.back().zone = partner;
    }
  return missed;
}

std::vector<TurnMissed> Timetable::begin(int zone, UtcTime start) {
  auto missed = with_partners(begin_turn(together_.leader(zone), start));
  together_.began(zone, start);
  seen_.push_back(zone);
  return missed;
}

// zone: the turn's leader.
std::vector<TurnMissed> Timetable::begin_turn(int zone, UtcTime start) {
  std::vector<TurnMissed> missed;
  const bool same_cycle =
      last_ >= 0 && last_end_ != kNever && seconds_between(last_end_, start) <= kCycleGapSeconds;
  if (last_ >= 0 && !same_cycle && last_end_ != kNever) missed = end_cycle();
  if (same_cycle && zone != last_ && start >= last_end_ - Millis{5000}) {
    if (usual_next(last_) == zone) short_cycles_.erase(last_);
    if (!told_last_ && usual_next(last_) != zone) missed = missing_between(last_, zone, last_end_, start);
    if (missed.empty()) note_skipped(last_, zone, start);
    // A broken zone keeps its place in the programme: nothing new is learned from its absence.
    if (missed.empty()) note_next(last_, zone, std::max(0.0, seconds_between(last_end_, start)));
  }
  if (seen_.empty()) {
    const auto first = missing_before(zone, start);
    missed.insert(missed.end(), first.begin(), first.end());
    if (first.empty()) {
      note_skipped(kEnd, zone, start);
      note_begin(zone, start);
    }
  }
  last_ = zone;
  last_start_ = start;
  last_end_ = kNever;
  told_last_ = false;
  return missed;
}

std::vector<TurnMissed> Timetable::finished(int zone, UtcTime start, UtcTime end) {
  if (seconds_between(start, end) > 2) remember(length_s_[zone], seconds_between(start, end));
  // Not by its start as well: what a run's first readings say of it may have moved that since.
  for (auto& waiting : waiting_)
    if (waiting.zone == zone && waiting.end == kNever) {
      waiting.end = end;
      break;
    }
  if (!together_.holds(zone)) return {};
  end_turn(end);
  std::vector<TurnMissed> missed;
  while (!waiting_.empty() && last_end_ != kNever) {
    const auto some = begin_waiting();
    missed.insert(missed.end(), some.begin(), some.end());
  }
  return missed;
}

// A turn ends with its last zone that is known to have ended.
void Timetable::end_turn(UtcTime end) { last_end_ = last_end_ == kNever ? end : std::max(last_end_, end); }

// The turn of the one that waits longest, and of those that started together with it.
std::vector<TurnMissed> Timetable::begin_waiting() {
  const UtcTime start = waiting_.front().start;
  auto missed = begin(waiting_.front().zone, start);
  do {
    if (!together_.holds(waiting_.front().zone)) {
      together_.joined(waiting_.front().zone);
      seen_.push_back(waiting_.front().zone);
    }
    if (waiting_.front().end != kNever) end_turn(waiting_.front().end);
    waiting_.erase(waiting_.begin());
  } while (!waiting_.empty() && std::abs(seconds_between(start, waiting_.front().start)) <= kTogetherSeconds);
  return missed;
}

void Timetable::note_begin(int zone, UtcTime start) {
  if (begins_.size() >= kBeginsRemembered) begins_.erase(begins_.begin());
  begins_.push_back({zone, start});
}

bool Timetable::is_usual_begin(int zone, UtcTime start) const {
  return std::count_if(begins_.begin(), begins_.end(), [&](const Begin& usual) {
           const double days = seconds_between(usual.start, start) / kDaySeconds;
           return usual.zone == zone && std::abs(days - std::round(days)) * kDaySeconds <= slack(0);
         }) >= kBeginsAgree;
}

// The zone usual between these two, or usual to begin at this time of day.
void Timetable::note_skipped(int before, int zone, UtcTime start) {
  for (const auto& [other, after] : after_) {
    if (other == zone || usual_next(other) != zone) continue;
    if (before == kEnd ? is_usual_begin(other, start) : usual_next(before) == other)
      skips_.push_back({other, start, start, false, true});
  }
}

std::vector<TurnMissed> Timetable::absent_beside() {
  for (int zone : seen_) skipped_.erase(zone);
  std::vector<TurnMissed> missed;
  for (const auto& [zone, start] : together_.end_cycle(seen_)) {
    const double length = usual_length(zone);
    const UtcTime end = start + Millis{static_cast<std::int64_t>(1000 * (measured(length) ? length : 60))};
    missed.push_back({zone, start, end, false, false, true, ++skipped_[zone] == kSkipsTold});
  }
  return missed;
}

// Of those that belonged to each cycle, and were not told as skipped.
std::vector<TurnMissed> Timetable::absent_for_long() {
  std::vector<TurnMissed> missed;
  for (int zone : absences_.end_cycle(seen_))
    if (skipped_[zone] < kSkipsTold) missed.push_back({zone, last_start_, last_start_, false, true});
  return missed;
}

// Skipped where it usually stands, and not run in another place either.
std::vector<TurnMissed> Timetable::end_cycle() {
  auto missed = absent_beside();
  const int follower = usual_next(last_);
  if (follower >= 0 && usual_next(follower) == kEnd)
    skips_.push_back({follower, last_end_, last_end_, false, true});
  if (!told_last_) note_next(last_, kEnd, 0);
  for (const TurnMissed& skip : skips_)
    if (std::find(seen_.begin(), seen_.end(), skip.zone) == seen_.end() &&
        ++skipped_[skip.zone] == kSkipsTold)
      missed.push_back(skip);
  const auto away = absent_for_long();
  missed.insert(missed.end(), away.begin(), away.end());
  skips_.clear();
  last_ = -1;
  seen_.clear();
  return missed;
}

// From the last zone that ran to the cycle's end; empty where that is not known.
std::vector<TurnMissed> Timetable::missing_tail() const {
  std::vector<TurnMissed> tail;
  UtcTime at = last_end_;
  for (int zone = last_; tail.size() < kMostMissed;) {
    const int follower = usual_next(zone);
    if (follower == kEnd) return tail;
    const double length = follower == kUnknown ? kNotMeasured : usual_length(follower);
    // In another order than usual it has had its turn already.
    if (!measured(length) || std::find(seen_.begin(), seen_.end(), follower) != seen_.end()) return {};
    at += Millis{static_cast<std::int64_t>(1000 * usual_gap(zone))};
    const UtcTime end = at + Millis{static_cast<std::int64_t>(1000 * length)};
    tail.push_back({follower, at, end, false});
    at = end;
    zone = follower;
  }
  return {};
}

// Anything after them in the cycle would show their gap; the cycle's last zones are judged by time alone. One
// may be dead; several are as well a programme cut short, for once or for good: told in the next cycle.
std::vector<TurnMissed> Timetable::advance(UtcTime now) {
  if (last_ < 0 || last_end_ == kNever || now < next_look_) return {};
  next_look_ = now + std::chrono::seconds(1);
  const double since = seconds_between(last_end_, now);
  const auto tail = told_last_ ? std::vector<TurnMissed>{} : missing_tail();
  if (tail.empty()) return since > kCycleGapSeconds ? end_cycle() : std::vector<TurnMissed>{};
  const double due = seconds_between(last_end_, tail.back().end);
  if (since < due + slack(due)) return {};
  told_last_ = true;
  if (tail.size() > 1 && ++short_cycles_[last_] < kSkipsTold) return {};
  return with_partners(tail);
}

}  // namespace coilward
