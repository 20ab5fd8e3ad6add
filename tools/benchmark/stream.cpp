#include "tools/benchmark/stream.h"

#include <cmath>

namespace coilward::bench {
namespace {

constexpr int kRunSeconds = 15 * 60;
constexpr double kWarmUpSeconds = 600;
constexpr int kDay = 86'400;

}  // namespace

ReadingStream::ReadingStream(int zones, UtcTime start, std::uint64_t seed)
    : random_(seed), start_(start), now_(start) {
  std::uniform_real_distribution<double> share(0, 1);
  for (int zone = 0; zone < zones; ++zone)
    sensors_.push_back({1000 * share(random_), 1e-4 * (2 * share(random_) - 1), 3 * share(random_),
                        200 + 100 * share(random_)});
}

void ReadingStream::next_second(std::vector<Reading>& readings) {
  const double passed = std::chrono::duration<double, std::milli>(now_ - start_).count();
  int zone = 0;
  for (const auto& sensor : sensors_) {
    ++zone;
    double late = 2 * std::abs(normal_(random_));
    if (random_() % 100 == 0) late += 20 * std::abs(normal_(random_));
    const auto time = now_ + Millis{std::llround(sensor.offset_ms + sensor.drift * passed + late)};
    readings.push_back({{ChannelKind::zone_current, static_cast<std::uint8_t>(zone)},
                        time,
                        std::round(milliamps(sensor, zone, time)) / 1000});
  }
  now_ += Millis{1000};
}

std::vector<Reading> ReadingStream::seconds(int count) {
  std::vector<Reading> readings;
  readings.reserve(sensors_.size() * static_cast<std::size_t>(count));
  for (int i = 0; i < count; ++i) next_second(readings);
  return readings;
}

// With more zones than fit into a day's quarters of an hour, some run at the same time.
double ReadingStream::milliamps(const Sensor& sensor, int zone, UtcTime time) {
  const auto second = to_ms(time) / 1000 % kDay;
  const auto since = (second + kDay - (zone - 1) * kRunSeconds % kDay) % kDay;
  if (since >= kRunSeconds) return std::max(0.0, sensor.zero_ma + 0.6 * normal_(random_));
  const double warm = 1 - 0.04 * (1 - std::exp(-static_cast<double>(since) / kWarmUpSeconds));
  return sensor.level_ma * warm + 1.5 * normal_(random_);
}

}  // namespace coilward::bench
