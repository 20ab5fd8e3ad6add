#include "daemon/history/rollup.h"

#include <cmath>
#include <vector>

#include "daemon/history/squeeze.h"
#include "daemon/history/value_stream.h"

namespace coilward {
namespace {

constexpr std::uint8_t kRollupForm = 1;
constexpr std::size_t kMinutes = 60;
constexpr std::size_t kMostBytes = 4096;

// Adding decimals leaves noise in the last bits, which would cost eight bytes a minute to keep. A billionth
// is far below what any sensor resolves, and above the noise of adding an hour of readings.
double without_noise(double sum) { return std::abs(sum) < 9e6 ? std::round(sum * 1e9) / 1e9 : sum; }

void put_stream(std::string& out, const std::vector<double>& values) {
  const auto stream = put_values(values, Against::the_one_before);
  put_word(out, static_cast<std::uint8_t>(static_cast<int>(stream.form) << 4 | stream.digits));
  put_squeezed(out, stream.bytes, Squeeze::thorough);
}

std::optional<std::vector<double>> take_stream(ByteReader& in, std::size_t count) {
  const auto kinds = in.word<std::uint8_t>();
  auto bytes = take_squeezed(in, kMostBytes);
  if (!bytes) return std::nullopt;
  return take_values(
      {static_cast<ValueForm>(kinds >> 4), static_cast<std::uint8_t>(kinds & 15), 0, std::move(*bytes)},
      count);
}

// Fills the counts; how many are not 0, or nullopt.
std::optional<std::size_t> take_counts(ByteReader& in, std::span<RollUp> parts) {
  const auto bytes = take_squeezed(in, kMostBytes);
  if (!bytes) return std::nullopt;
  ByteReader counts(*bytes);
  std::size_t filled = 0;
  std::int64_t before = 0;
  for (auto& part : parts) {
    before += static_cast<std::int32_t>(counts.signed_varint());
    part.count = static_cast<std::uint32_t>(before);
    filled += part.count > 0;
  }
  return counts.at_end() ? std::optional(filled) : std::nullopt;
}

Error damaged() { return {Cause::bad_input, "damaged roll-up"}; }

std::string pack(std::span<const RollUp> parts) {
  std::string out, counts;
  std::vector<double> lowest, highest, sums;
  std::int64_t before = 0;
  for (const auto& part : parts) {
    put_signed(counts, static_cast<std::int64_t>(part.count) - before);
    before = part.count;
    if (part.count == 0) continue;
    lowest.push_back(part.lowest);
    highest.push_back(part.highest);
    sums.push_back(part.sum);
  }
  put_word(out, kRollupForm);
  put_squeezed(out, counts, Squeeze::thorough);
  for (const auto* stream : {&lowest, &highest, &sums}) put_stream(out, *stream);
  seal(out);
  return out;
}

Result<bool> unpack(std::string_view packed, std::span<RollUp> parts) {
  const auto inside = unseal(packed);
  if (!inside) return damaged();
  ByteReader in(*inside);
  const bool known = in.word<std::uint8_t>() == kRollupForm;
  const auto filled = known ? take_counts(in, parts) : std::nullopt;
  if (!filled) return damaged();
  const auto lowest = take_stream(in, *filled);
  const auto highest = lowest ? take_stream(in, *filled) : std::nullopt;
  const auto sums = highest ? take_stream(in, *filled) : std::nullopt;
  if (!sums || !in.at_end()) return damaged();
  std::size_t next = 0;
  for (auto& part : parts) {
    if (part.count == 0) continue;
    part.lowest = (*lowest)[next];
    part.highest = (*highest)[next];
    part.sum = (*sums)[next++];
  }
  return true;
}

}  // namespace

void RollUp::add(double value) {
  if (std::isnan(value)) return;
  ++count;
  lowest = std::fmin(lowest, value);
  highest = std::fmax(highest, value);
  sum += value;
}

void RollUp::add(const RollUp& other) {
  count += other.count;
  lowest = std::fmin(lowest, other.lowest);
  highest = std::fmax(highest, other.highest);
  sum += other.sum;
}

std::int64_t hour_of(UtcTime time) {
  return std::chrono::floor<std::chrono::hours>(time).time_since_epoch().count();
}

HourMinutes minutes_of(std::span<const Reading> readings, std::int64_t hour) {
  HourMinutes minutes;
  for (const auto& reading : readings) {
    const auto minute = (to_ms(reading.time) - hour * kHourMs) / kMinuteMs;
    if (minute >= 0 && minute < static_cast<std::int64_t>(kMinutes))
      minutes[static_cast<std::size_t>(minute)].add(reading.value);
  }
  for (auto& minute : minutes) minute.sum = without_noise(minute.sum);
  return minutes;
}

RollUp total_of(const HourMinutes& minutes) {
  RollUp total;
  for (const auto& minute : minutes) total.add(minute);
  total.sum = without_noise(total.sum);
  return total;
}

std::string pack_minutes(const HourMinutes& minutes) { return pack(minutes); }
std::string pack_day(const DayHours& hours) { return pack(hours); }

Result<HourMinutes> unpack_minutes(std::string_view packed) {
  HourMinutes minutes;
  if (const auto done = unpack(packed, minutes); !done) return done.error();
  return minutes;
}

Result<DayHours> unpack_day(std::string_view packed) {
  DayHours hours;
  if (const auto done = unpack(packed, hours); !done) return done.error();
  return hours;
}

}  // namespace coilward
