#include "daemon/intake/reading_time.h"

#include <algorithm>

#include "plugins/plugin.h"

namespace coilward {
namespace {

UtcTime from_us(std::int64_t us) {
  return UtcTime{std::chrono::floor<Millis>(std::chrono::microseconds{us})};
}

ReadingTime arrival_instead(UtcTime arrival, TimeNote note, UtcTime claimed) {
  return {arrival, false, false, note, claimed};
}

ReadingTime within(UtcTime earliest, UtcTime latest, UtcTime arrival, UtcTime claimed) {
  if (claimed > latest) return arrival_instead(arrival, TimeNote::ahead, claimed);
  if (claimed < earliest) return arrival_instead(arrival, TimeNote::behind, claimed);
  return {claimed};
}

// The arrival is good, or the claim is relative to it: it is held against the arrival.
ReadingTime near_arrival(UtcTime arrival, UtcTime claimed, UtcTime earliest) {
  return within(std::max(earliest, arrival - kMostBehind), arrival + kMostAhead, arrival, claimed);
}

}  // namespace

ReadingTime reading_time(const Message& message, int time_kind, std::int64_t time_us) {
  const UtcTime arrival = std::clamp(message.arrival, UtcTime{}, kLatest);
  const bool unsure = message.time_unsure || arrival < kEarliest;
  if (time_kind == COILWARD_TIME_NONE) return {arrival, false, unsure};
  const bool own = time_kind == COILWARD_TIME_ABSOLUTE;
  const UtcTime claimed = own ? from_us(time_us) : arrival + (from_us(time_us) - UtcTime{});
  // Where the arrival is no measure, an absolute claim that can be at all is the better time.
  ReadingTime result = own && unsure ? within(kEarliest, kLatest, arrival, claimed)
                                     : near_arrival(arrival, claimed, unsure ? UtcTime::min() : kEarliest);
  result.own = own && result.note == TimeNote::none;
  result.unsure = unsure;
  return result;
}

}  // namespace coilward
