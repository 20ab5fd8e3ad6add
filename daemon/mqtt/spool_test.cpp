#include "daemon/mqtt/spool.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <thread>

#include "tests/support/temporary_directory.h"

namespace coilward {
namespace {

constexpr std::uint64_t kRoomy = 4 << 20;

Message message(std::string_view topic, std::string_view payload, std::int64_t arrival_ms = 1000) {
  Message m;
  m.topic = topic;
  m.payload = payload;
  m.arrival = from_ms(arrival_ms);
  return m;
}

std::unique_ptr<Spool> open_spool(const std::string& directory, std::uint64_t max_bytes = kRoomy,
                                  std::uint64_t first = 1) {
  auto spool = Spool::open(directory, max_bytes, first);
  if (!spool) throw std::runtime_error(spool.error().what);
  return std::move(*spool);
}

std::vector<std::string> payloads_after(Spool& spool, std::uint64_t after, std::size_t at_most = 1'000'000) {
  std::vector<std::string> found;
  spool.read(after, at_most, [&](const Message& m) { found.emplace_back(m.payload); });
  return found;
}

std::vector<std::uint64_t> numbers_after(Spool& spool, std::uint64_t after) {
  std::vector<std::uint64_t> found;
  spool.read(after, 1'000'000, [&](const Message& m) { found.push_back(m.sequence); });
  return found;
}

std::string only_segment(const std::string& directory) {
  std::string found;
  for (const auto& entry : std::filesystem::directory_iterator(directory)) {
    if (entry.path().extension() != ".spool") continue;
    EXPECT_TRUE(found.empty());
    found = entry.path();
  }
  return found;
}

std::string file_bytes(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

// What this process has read by system calls so far (proc(5), rchar).
std::uint64_t bytes_read() {
  std::ifstream io("/proc/self/io");
  std::string name;
  std::uint64_t bytes = 0;
  io >> name >> bytes;
  return bytes;
}

TEST(Spool, WhoHasReadAllGoesOnFromThereWhenMoreComes) {
  TemporaryDirectory directory;
  auto spool = open_spool(directory.path());
  const auto before = bytes_read();
  constexpr std::uint64_t kMessages = 3000;
  for (std::uint64_t i = 1; i <= kMessages; ++i) {
    spool->append(message("coilward/a/measure/zone/1/current", "0.231"));
    ASSERT_EQ(numbers_after(*spool, i - 1), std::vector<std::uint64_t>{i});
  }
  EXPECT_LT(bytes_read() - before, 5 * spool->status().bytes) << "each time all of it again";
}

TEST(Spool, GivesBackWhatItWasGiven) {
  TemporaryDirectory directory;
  auto spool = open_spool(directory.path());
  Message in = message("coilward/a/measure/zone/1/current", "0.231", 1714803129250);
  in.retained = true;
  in.time_unsure = true;
  EXPECT_EQ(spool->append(in), 1u);
  EXPECT_EQ(spool->append(message("t", std::string_view("a\0b", 3))), 2u);
  std::vector<Message> seen;
  EXPECT_EQ(spool->read(0, 10,
                        [&](const Message& m) {
                          if (m.sequence == 1) {
                            EXPECT_EQ(m.topic, in.topic);
                            EXPECT_EQ(m.payload, "0.231");
                            EXPECT_EQ(m.arrival, in.arrival);
                            EXPECT_TRUE(m.retained && m.time_unsure && !m.duplicate);
                          } else {
                            EXPECT_EQ(m.payload, std::string_view("a\0b", 3));
                          }
                        }),
            2u);
}

TEST(Spool, ReadsOnFromANumberInSteps) {
  TemporaryDirectory directory;
  auto spool = open_spool(directory.path());
  for (int i = 1; i <= 5; ++i) spool->append(message("t", std::to_string(i)));
  EXPECT_EQ(payloads_after(*spool, 0, 2), (std::vector<std::string>{"1", "2"}));
  EXPECT_EQ(payloads_after(*spool, 2, 2), (std::vector<std::string>{"3", "4"}));
  EXPECT_EQ(payloads_after(*spool, 4), (std::vector<std::string>{"5"}));
  EXPECT_TRUE(payloads_after(*spool, 5).empty());
  EXPECT_EQ(payloads_after(*spool, 3), (std::vector<std::string>{"4", "5"}));  // back again
}

TEST(Spool, GoesOnOverSegmentsAndRestarts) {
  TemporaryDirectory directory;
  const std::string filler(300, 'x');
  std::uint64_t written = 0;
  for (int start = 0; start < 5; ++start) {
    auto spool = open_spool(directory.path());
    for (int i = 0; i < 700; ++i) ASSERT_EQ(spool->append(message("t", filler)), ++written);
  }
  auto spool = open_spool(directory.path());
  EXPECT_EQ(spool->status().found, written);
  const auto numbers = numbers_after(*spool, 1234);
  ASSERT_EQ(numbers.size(), written - 1234);
  EXPECT_EQ(numbers.front(), 1235u);
  EXPECT_EQ(numbers.back(), written);
}

TEST(Spool, NumbersNeverComeAgain) {
  TemporaryDirectory directory;
  {
    auto spool = open_spool(directory.path());
    for (int i = 0; i < 10; ++i) spool->append(message("t", "x"));
    spool->trim(10);
  }
  {
    auto spool = open_spool(directory.path());
    EXPECT_EQ(spool->append(message("t", "x")), 11u);
  }
  std::filesystem::remove_all(directory.path());  // a reboot: tmpfs is empty
  auto spool = open_spool(directory.path(), kRoomy, 12);
  EXPECT_EQ(spool->append(message("t", "x")), 12u);
  spool.reset();
  spool = open_spool(directory.path(), kRoomy, 100);  // what was stored is ahead of the spool
  EXPECT_EQ(spool->append(message("t", "x")), 100u);
  EXPECT_EQ(numbers_after(*spool, 0), (std::vector<std::uint64_t>{12, 100}));
}

TEST(Spool, TrimGivesTheSpaceBack) {
  TemporaryDirectory directory;
  auto spool = open_spool(directory.path());
  const std::string filler(1000, 'x');
  for (int i = 0; i < 600; ++i) spool->append(message("t", filler));
  const auto before = spool->status().bytes;
  numbers_after(*spool, 0);
  spool->trim(600);
  EXPECT_LT(spool->status().bytes, before / 4);
  EXPECT_EQ(spool->status().dropped, 0u);
  EXPECT_EQ(spool->append(message("t", "next")), 601u);
  EXPECT_EQ(numbers_after(*spool, 600), (std::vector<std::uint64_t>{601}));
}

TEST(Spool, FullDropsTheOldestAndCountsWhatNobodyRead) {
  TemporaryDirectory directory;
  auto spool = open_spool(directory.path(), 64 * 1024);
  const std::string filler(500, 'x');
  for (int i = 0; i < 1000; ++i) ASSERT_NE(spool->append(message("t", filler)), 0u);
  EXPECT_LE(spool->status().bytes, 64u * 1024);
  const auto numbers = numbers_after(*spool, 0);
  EXPECT_EQ(numbers.size() + spool->status().dropped, 1000u);
  EXPECT_EQ(numbers.back(), 1000u);
  // Everything is read now; dropping it loses nothing.
  const auto dropped = spool->status().dropped;
  for (int i = 0; i < 50; ++i) spool->append(message("t", filler));
  EXPECT_EQ(spool->status().dropped, dropped);
}

TEST(Spool, RefusesWhatCannotFitAndCountsIt) {
  TemporaryDirectory directory;
  auto spool = open_spool(directory.path(), 64 * 1024);
  EXPECT_EQ(spool->append(message("t", std::string(10'000, 'x'))), 0u);
  EXPECT_EQ(spool->status().refused, 1u);
  EXPECT_EQ(spool->append(message("t", "fits")), 1u);
}

TEST(Spool, ReadsAMessageLargerThanAChunk) {
  TemporaryDirectory directory;
  auto spool = open_spool(directory.path(), 16 << 20);
  const std::string large(300'000, 'y');
  spool->append(message("t", "small"));
  spool->append(message("t", large));
  spool->append(message("t", "after"));
  EXPECT_EQ(payloads_after(*spool, 0), (std::vector<std::string>{"small", large, "after"}));
}

TEST(Spool, SurvivesBeingCutAtEveryLength) {
  TemporaryDirectory whole;
  std::vector<std::uint64_t> ends = {0};
  {
    auto spool = open_spool(whole.path());
    for (const char* payload : {"one", "", "three", "four and more"}) {
      spool->append(message("a/topic", payload));
      ends.push_back(spool->status().bytes);
    }
  }
  const std::string path = only_segment(whole.path());
  const std::string bytes = file_bytes(path);
  ASSERT_EQ(bytes.size(), ends.back());
  for (std::size_t length = 0; length <= bytes.size(); ++length) {
    TemporaryDirectory cut;
    std::ofstream(cut / std::filesystem::path(path).filename().string(), std::ios::binary)
        << bytes.substr(0, length);
    const std::size_t kept = std::ranges::upper_bound(ends, length) - ends.begin() - 1;
    auto spool = open_spool(cut.path());
    ASSERT_EQ(spool->status().found, kept) << "cut at " << length;
    ASSERT_EQ(spool->append(message("t", "new")), kept + 1);
    ASSERT_EQ(payloads_after(*spool, 0).size(), kept + 1);
    ASSERT_EQ(payloads_after(*spool, 0).back(), "new");
  }
}

TEST(Spool, StopsBeforeAFlippedBit) {
  TemporaryDirectory whole;
  {
    auto spool = open_spool(whole.path());
    for (int i = 0; i < 3; ++i) spool->append(message("a/topic", "0.231"));
  }
  const std::string path = only_segment(whole.path());
  const std::string bytes = file_bytes(path);
  const std::size_t record = bytes.size() / 3;
  for (std::size_t at = record; at < 2 * record; ++at) {  // in the second of three
    std::string bad = bytes;
    bad[at] = static_cast<char>(bad[at] ^ 0x10);
    std::ofstream(path, std::ios::binary) << bad;
    auto spool = open_spool(whole.path());
    ASSERT_EQ(spool->status().found, 1u) << "flipped at " << at;
    ASSERT_EQ(spool->status().damaged, bytes.size() - record);
  }
}

TEST(Spool, IsForOneProcessAtATime) {
  TemporaryDirectory directory;
  auto first = open_spool(directory.path());
  auto second = Spool::open(directory.path(), kRoomy);
  ASSERT_FALSE(second);
  EXPECT_EQ(second.error().cause, Cause::conflict);
  first.reset();
  EXPECT_TRUE(Spool::open(directory.path(), kRoomy));
}

TEST(Spool, SaysWhereItCannotBe) {
  auto spool = Spool::open("/proc/coilward-spool", kRoomy);
  ASSERT_FALSE(spool);
  EXPECT_EQ(spool.error().cause, Cause::world);
  EXPECT_NE(spool.error().what.find("/proc/coilward-spool"), std::string::npos);
}

TEST(Spool, WakesTheReaderOnceForManyMessages) {
  TemporaryDirectory directory;
  auto spool = open_spool(directory.path());
  int woken = 0;
  spool->on_arrival([&] { ++woken; });
  for (int i = 0; i < 10; ++i) spool->append(message("t", "x"));
  EXPECT_EQ(woken, 1);
  EXPECT_EQ(payloads_after(*spool, 0).size(), 10u);
  spool->append(message("t", "x"));
  EXPECT_EQ(woken, 2);
}

TEST(Spool, LosesNothingBetweenTwoThreads) {
  TemporaryDirectory directory;
  auto spool = open_spool(directory.path(), 4 << 20);
  constexpr std::uint64_t kMessages = 20'000;
  std::atomic<int> wakes = 0;
  spool->on_arrival([&] {
    ++wakes;
    wakes.notify_one();
  });
  std::jthread writer([&] {
    for (std::uint64_t i = 1; i <= kMessages; ++i) spool->append(message("t", std::to_string(i)));
  });
  std::uint64_t last = 0;
  for (int seen = 0; last < kMessages;) {
    wakes.wait(seen);
    seen = wakes;
    spool->read(last, kMessages, [&](const Message& m) {
      ASSERT_EQ(m.sequence, last + 1);
      ASSERT_EQ(m.payload, std::to_string(m.sequence));
      last = m.sequence;
    });
    spool->trim(last);
  }
  EXPECT_EQ(spool->status().dropped, 0u);
}

}  // namespace
}  // namespace coilward
