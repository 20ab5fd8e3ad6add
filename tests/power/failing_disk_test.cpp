// A disk that is full, or fails, from any of its operations on, and is well again later; and one with damaged
// pages.
#include <filesystem>
#include <iostream>

#include "daemon/history/outbox.h"
#include "daemon/history/state_directory.h"
#include "tests/power/day.h"
#include "tests/support/poll.h"

namespace coilward {
namespace {

constexpr std::uint64_t kBefore = 5, kDuring = 3;

void expect_everything_once(const std::string& directory, std::uint64_t units) {
  auto reader = HistoryReader::open(history_path(directory), test::two_commons());
  ASSERT_TRUE(reader);
  EXPECT_EQ(test::all_readings(*reader, test::zone_current(1)).size(), units * kReadingsAUnit);
  auto outbox = Outbox::open(state_path(directory));
  ASSERT_TRUE(outbox);
  EXPECT_EQ(outbox->counts("mail")->pending, units / 3);
}

class FailingDisk : public testing::TestWithParam<DiskFault> {};
INSTANTIATE_TEST_SUITE_P(, FailingDisk, testing::Values(DiskFault::full, DiskFault::error),
                         [](const auto& p) { return p.param == DiskFault::full ? "Full" : "Error"; });

TEST_P(FailingDisk, FromAnyOperationOnIsSaidAndAllIsKeptAfterwards) {
  int troubles = 0;
  for (std::uint64_t nth = 0; nth < 24; ++nth) {
    TemporaryDirectory directory;
    PowerVfs disk;
    {
      FakeClock clock(day_start());
      auto keeper = Keeper::start(day_options(directory.path()), {}, clock);
      ASSERT_TRUE(keeper);
      std::uint64_t unit = 0;
      while (unit < kBefore) (*keeper)->post(unit_of_day(++unit));
      ASSERT_TRUE((*keeper)->flush(kLong));
      disk.fail(GetParam(), nth);
      while (unit < kBefore + kDuring) (*keeper)->post(unit_of_day(++unit));
      const bool done = (*keeper)->flush(std::chrono::milliseconds(100));
      if (!done) {
        ++troubles;
        EXPECT_TRUE(becomes_true([&] { return !(*keeper)->health().trouble.empty(); }));
        const bool full = (*keeper)->health().trouble.find("full") != std::string::npos;
        EXPECT_EQ(full, GetParam() == DiskFault::full) << (*keeper)->health().trouble;
      }
      disk.fail(DiskFault::none);
      EXPECT_TRUE((*keeper)->flush(kLong)) << "operation " << nth;
      EXPECT_TRUE((*keeper)->health().trouble.empty()) << (*keeper)->health().trouble;
      EXPECT_EQ((*keeper)->health().dropped_readings, 0u);
    }
    expect_everything_once(directory.path(), kBefore + kDuring);
  }
  EXPECT_GT(troubles, 5);
}

// Random pages overwritten while nobody looked: the keeper starts, and goes on keeping; what it threw away it
// says.
TEST(DamagedDisk, IsRepairedOrReplacedAndTheKeeperGoesOn) {
  TemporaryDirectory lived;
  {
    PowerVfs disk;  // spares the real syncs
    live_through_day(lived.path(), disk);
  }
  int repaired = 0, damages = 0;
  double longest = 0;
  for (unsigned seed = 1; seed <= 30; ++seed) {
    std::mt19937 random(seed);
    TemporaryDirectory directory;
    std::filesystem::copy(lived.path(), directory.path(), std::filesystem::copy_options::recursive);
    const std::string path = seed % 2 ? state_path(directory.path()) : history_path(directory.path());
    std::fstream file(path, std::ios::in | std::ios::out | std::ios::binary);
    const auto pages = std::filesystem::file_size(path) / 4096;
    for (unsigned i = 0; i < 1 + seed % 4; ++i, ++damages) {
      file.seekp(static_cast<std::streamoff>(random() % pages * 4096));
      for (int word = 0; word < 1024; ++word) {
        const auto bits = static_cast<std::uint32_t>(random());
        file.write(reinterpret_cast<const char*>(&bits), sizeof bits);
      }
    }
    file.close();
    const auto begin = std::chrono::steady_clock::now();
    FakeClock clock(day_start());
    auto keeper = Keeper::start(day_options(directory.path()), {}, clock);
    ASSERT_TRUE(keeper) << "seed " << seed << ": " << keeper.error().what;
    (*keeper)->post(unit_of_day(kUnits + 2));  // with a finding and an alert
    ASSERT_TRUE((*keeper)->flush(kLong)) << "seed " << seed << ": " << (*keeper)->health().trouble;
    longest =
        std::max(longest, std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count());
    for (const std::string& repair : (*keeper)->health().repairs) {
      ++repaired;
      EXPECT_NE(repair.find("damaged"), std::string::npos) << repair;
    }
    auto outbox = Outbox::open(state_path(directory.path()));
    ASSERT_TRUE(outbox) << "seed " << seed;
    EXPECT_GE(outbox->counts("mail")->pending, 1u) << "seed " << seed;
  }
  std::cout << damages << " pages damaged in 30 files, " << repaired
            << " files moved aside and made anew, again in work "
            << "after at most " << longest << " s\n";
  EXPECT_GT(repaired, 10);
}

}  // namespace
}  // namespace coilward
