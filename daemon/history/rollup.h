// Roll-ups: what is kept of a minute or an hour of readings when nobody needs each one. The mean is
// sum / count, taken when shown.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>

#include "daemon/base/result.h"
#include "daemon/pipeline.h"

namespace coilward {

struct RollUp {
  std::uint32_t count = 0;
  double lowest = kNotMeasured;  // NaN while count is 0
  double highest = kNotMeasured;
  double sum = 0;

  void add(double value);  // a NaN is not counted
  void add(const RollUp& other);
  double mean() const { return count == 0 ? kNotMeasured : sum / count; }
  friend bool operator==(const RollUp&, const RollUp&) = default;
};

// The minutes of one hour.
using HourMinutes = std::array<RollUp, 60>;

// Hours since 1970, rounded down; where raw readings and roll-ups are filed.
inline constexpr std::int64_t kHourMs = 3'600'000;
inline constexpr std::int64_t kMinuteMs = 60'000;
std::int64_t hour_of(UtcTime time);
inline UtcTime hour_start(std::int64_t hour) { return from_ms(hour * kHourMs); }

// Readings in canonical order, so that the sums are the same bits each time.
HourMinutes minutes_of(std::span<const Reading> readings, std::int64_t hour);
RollUp total_of(const HourMinutes& minutes);

// The hours of one day (UTC).
using DayHours = std::array<RollUp, 24>;
inline constexpr std::int64_t kHoursADay = 24;

// Packed form, exact. bad_input: cut short or altered.
std::string pack_minutes(const HourMinutes& minutes);
Result<HourMinutes> unpack_minutes(std::string_view packed);
std::string pack_day(const DayHours& hours);
Result<DayHours> unpack_day(std::string_view packed);

}  // namespace coilward
