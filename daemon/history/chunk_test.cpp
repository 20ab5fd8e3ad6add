#include "daemon/history/chunk.h"

#include <gtest/gtest.h>

#include <bit>
#include <chrono>
#include <cmath>
#include <random>

#include "daemon/history/squeeze.h"

namespace coilward {
namespace {

constexpr Channel kZone4{ChannelKind::zone_current, 4};
constexpr std::int64_t kStart = 1'777'870'800'000;  // 2026-05-04T05:00:00Z

using Random = std::mt19937_64;

bool same_bits(const Reading& a, const Reading& b) {
  return a.channel == b.channel && a.time == b.time && a.time_unsure == b.time_unsure &&
         std::bit_cast<std::uint64_t>(a.value) == std::bit_cast<std::uint64_t>(b.value);
}

void expect_round_trip(const std::vector<Reading>& readings) {
  const auto chunk = pack_chunk(readings);
  std::vector<Reading> back;
  const auto header = unpack_chunk(chunk, kZone4, back);
  ASSERT_TRUE(header) << header.error().what;
  ASSERT_EQ(back.size(), readings.size());
  EXPECT_EQ(header->count, readings.size());
  for (std::size_t i = 0; i < back.size(); ++i) ASSERT_TRUE(same_bits(back[i], readings[i])) << i;
}

// One zone at 1 Hz in 1 mA steps, each reading a few ms late, switched on for `on_s` of the hour; noise of
// 1.5 mA and a slow warm-up, as a small current transformer and converter give.
std::vector<Reading> zone_hour(std::uint64_t seed, int on_s) {
  Random random(seed);
  std::normal_distribution<double> noise(0, 0.0015), late(0, 2.0);
  std::vector<Reading> readings;
  for (int s = 0; s < 3600; ++s) {
    const double amps =
        s < on_s ? 0.231 * (1 - 0.04 * s / 3600) + noise(random) : std::abs(noise(random)) / 4;
    const auto ms = kStart + s * 1000 + std::llround(std::abs(late(random)));
    readings.push_back({kZone4, from_ms(ms), std::round(amps * 1000) / 1000});
  }
  return readings;
}

double bytes_a_reading(const std::vector<Reading>& readings) {
  return static_cast<double>(pack_chunk(readings).size()) / static_cast<double>(readings.size());
}

TEST(Chunk, BringsBackAnHourOfReadings) { expect_round_trip(zone_hour(1, 3600)); }

TEST(Chunk, TakesAtMostOneByteAReadingWhenTheZoneIsOn) {
  const double on = bytes_a_reading(zone_hour(2, 3600)), off = bytes_a_reading(zone_hour(3, 0));
  RecordProperty("bytes_on", std::to_string(on));
  RecordProperty("bytes_off", std::to_string(off));
  printf("[ measured ] bytes a reading: %.3f on all hour, %.3f off all hour\n", on, off);
  EXPECT_LE(on, 1.0);
  EXPECT_LE(off, 0.7);
}

TEST(Chunk, IsAsSmallForSinglePrecisionAndForProducts) {
  auto single = zone_hour(2, 3600), product = single;
  const double plain = bytes_a_reading(single);
  for (auto& reading : single) reading.value = static_cast<double>(static_cast<float>(reading.value));
  for (auto& reading : product) reading.value = std::round(reading.value * 1000) * 0.001;
  EXPECT_NEAR(bytes_a_reading(single), plain, 0.001);
  EXPECT_NEAR(bytes_a_reading(product), plain, 0.001);
}

TEST(Chunk, BringsBackRandomReadings) {
  Random random(20260504);
  std::uniform_int_distribution<int> count(1, 400), kind(0, 7);
  for (int round = 0; round < 400; ++round) {
    std::vector<Reading> readings(static_cast<std::size_t>(count(random)));
    const int form = kind(random);
    auto ms = kStart;
    for (auto& reading : readings) {
      ms += static_cast<std::int64_t>(random() % (form == 0 ? 3 : 5000)) - (form == 1 ? 2500 : 0);
      const double raw = static_cast<double>(static_cast<std::int64_t>(random() % 2000) - 1000);
      const double value = form == 2   ? std::bit_cast<double>(random())
                           : form == 3 ? static_cast<double>(static_cast<float>(raw / 1000))
                           : form == 4 ? raw / 7
                           : form == 7 ? raw * 0.001
                           : form == 5 ? (raw < 0 ? 1.0 : 0.0)
                                       : raw / 1000;
      reading = {kZone4, from_ms(ms), value, form == 6 && random() % 3 == 0};
    }
    expect_round_trip(readings);
  }
}

TEST(Chunk, BringsBackValuesThatAreEasilyLost) {
  std::vector<Reading> readings;
  for (double value : {0.0, -0.0, kNotMeasured, std::numeric_limits<double>::infinity(), 5e-324, 1e308, -0.1,
                       0.1 + 0.2, 9007199254740993.0})
    readings.push_back({kZone4, from_ms(kStart), value});
  expect_round_trip(readings);
  for (const auto& one : readings) expect_round_trip({one});
}

TEST(Chunk, BringsBackTimesFarApart) {
  expect_round_trip(
      {{kZone4, from_ms(-5), 1}, {kZone4, from_ms(7'000'000'000'000), 2}, {kZone4, from_ms(0), 3}});
}

TEST(Chunk, HeaderSaysWhatIsInside) {
  const auto header = read_chunk_header(
      pack_chunk(std::vector<Reading>{{kZone4, from_ms(900), 0.25}, {kZone4, from_ms(100), -0.5}}));
  ASSERT_TRUE(header);
  EXPECT_EQ(header->first, from_ms(100));
  EXPECT_EQ(header->last, from_ms(900));
  EXPECT_EQ(header->lowest, -0.5);
  EXPECT_EQ(header->highest, 0.25);
}

TEST(Chunk, RefusesEveryTruncation) {
  const auto chunk = pack_chunk(zone_hour(4, 1800));
  for (std::size_t size = 0; size < chunk.size(); ++size) {
    std::vector<Reading> back;
    ASSERT_FALSE(unpack_chunk(std::string_view(chunk).substr(0, size), kZone4, back)) << size;
    ASSERT_TRUE(back.empty());
    ASSERT_FALSE(read_chunk_header(std::string_view(chunk).substr(0, size)));
  }
}

TEST(Chunk, RefusesEveryFlippedBit) {
  const auto chunk = pack_chunk(zone_hour(5, 60));
  for (std::size_t bit = 0; bit < chunk.size() * 8; ++bit) {
    auto other = chunk;
    other[bit / 8] = static_cast<char>(other[bit / 8] ^ (1 << bit % 8));
    std::vector<Reading> back;
    ASSERT_FALSE(unpack_chunk(other, kZone4, back)) << bit;
  }
}

// A right checksum around wrong content: what a bug, not a bad card, would leave. Nothing may crash.
TEST(Chunk, SurvivesSealedNonsense) {
  Random random(7);
  const auto chunk = pack_chunk(zone_hour(6, 30));
  for (int round = 0; round < 20'000; ++round) {
    std::string other = chunk.substr(0, chunk.size() - 4);
    for (int changes = 0; changes < 3; ++changes)
      other[random() % (round % 2 ? other.size() : 40)] = static_cast<char>(random());
    seal(other);
    std::vector<Reading> back;
    const auto header = unpack_chunk(other, kZone4, back);
    ASSERT_EQ(back.size(), header ? header->count : 0u);
  }
}

TEST(Chunk, UnitesReadingsThatAreTheSame) {
  std::vector<Reading> readings = {{kZone4, from_ms(20), 0.2},
                                   {kZone4, from_ms(10), 0.1, true},
                                   {kZone4, from_ms(10), 0.1, false},
                                   {kZone4, from_ms(10), 0.3},
                                   {kZone4, from_ms(20), 0.2}};
  sort_and_unite(readings);
  ASSERT_EQ(readings.size(), 3u);
  EXPECT_FALSE(readings[0].time_unsure);
  EXPECT_EQ(readings[1].value, 0.3);
  EXPECT_EQ(readings[2].time, from_ms(20));
}

}  // namespace
}  // namespace coilward
