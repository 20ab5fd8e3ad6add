// For this folder's tests: names of a small site, readings made up but repeatable.
#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <map>
#include <random>
#include <sstream>

#include "daemon/history/chunk.h"
#include "daemon/history/history_reader.h"
#include "daemon/history/history_store.h"
#include "tests/support/temporary_directory.h"

namespace coilward::test {

inline UtcTime at(const char* text) { return *parse_rfc3339(text); }
inline Channel zone_current(int zone) { return {ChannelKind::zone_current, static_cast<std::uint8_t>(zone)}; }

inline ChannelNames two_commons() {
  Config config;
  config.commons = {{"main", {}}, {"north", {}}};
  return ChannelNames(config);
}

// `seconds` readings of each of `zones` zones from `start`, one a second a few ms late, in order of time.
// Zone z is on while the minute of the day modulo `zones` is z - 1.
inline std::vector<Reading> site_readings(UtcTime start, int seconds, int zones, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::normal_distribution<double> noise(0, 0.0012), late(0, 2);
  std::vector<Reading> readings;
  readings.reserve(static_cast<std::size_t>(seconds) * static_cast<std::size_t>(zones));
  for (int s = 0; s < seconds; ++s)
    for (int zone = 1; zone <= zones; ++zone) {
      const auto time = start + Millis{s * 1000 + std::llround(std::abs(late(random)))};
      const bool on = (to_ms(time) / (15 * 60'000)) % zones == zone - 1;
      const double amps = on ? 0.230 + 0.001 * zone + noise(random) : std::abs(noise(random)) / 3;
      readings.push_back({zone_current(zone), time, std::round(amps * 1000) / 1000});
    }
  return readings;
}

inline std::vector<Reading> all_readings(const HistoryReader& reader, Channel channel,
                                         std::span<const Reading> pending = {}) {
  std::vector<Reading> found;
  const auto done =
      reader.each_reading(channel, from_ms(0), from_ms(7'000'000'000'000), pending, [&](auto page) {
        found.insert(found.end(), page.begin(), page.end());
        return true;
      });
  EXPECT_TRUE(done) << done.error().what;
  return found;
}

inline std::vector<Reading> of(const std::vector<Reading>& readings, Channel channel) {
  std::vector<Reading> some;
  for (const auto& reading : readings)
    if (reading.channel == channel) some.push_back(reading);
  sort_and_unite(some);
  return some;
}

inline bool same(const std::vector<Reading>& a, const std::vector<Reading>& b) {
  if (a.size() != b.size()) return false;
  for (std::size_t i = 0; i < a.size(); ++i)
    if (a[i].time != b[i].time || a[i].value != b[i].value || a[i].channel != b[i].channel) return false;
  return true;
}

inline int tidy_all(HistoryStore& store, UtcTime now, int raw_days = 400) {
  int steps = 0;
  for (;; ++steps) {
    const auto more = store.tidy(now, raw_days);
    EXPECT_TRUE(more) << more.error().what;
    if (!more || !*more) return steps;
  }
}

}  // namespace coilward::test
