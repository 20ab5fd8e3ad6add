#include "daemon/fleet/uplink/uplink_outbox.h"

#include <gtest/gtest.h>
#include <SQLiteCpp/SQLiteCpp.h>

#include <filesystem>
#include <fstream>

#include "tests/support/temporary_directory.h"

namespace coilward {
namespace {

const UtcTime kNow = *parse_rfc3339("2026-05-04T06:12:09Z");

class UplinkOutboxTest : public ::testing::Test {
 protected:
  UplinkOutbox open() {
    auto outbox = UplinkOutbox::open(path_, kNow);
    EXPECT_TRUE(outbox) << outbox.error().what;
    return std::move(*outbox);
  }
  static Parcel parcel(int number) {
    return {UplinkKind::runs, "{\"n\":" + std::to_string(number) + "}", {{"run", std::to_string(number)}}};
  }
  void fill(UplinkOutbox& outbox, int from, int until) {
    for (int i = from; i < until; ++i) ASSERT_TRUE(outbox.add(parcel(i), kNow));
  }
  static std::vector<std::int64_t> numbers(UplinkOutbox& outbox, std::int64_t after = 0) {
    std::vector<std::int64_t> list;
    for (const auto& row : outbox.after(after, 100).value()) list.push_back(row.head.seq);
    return list;
  }
  void change(const std::string& sql) {
    SQLite::Database database(path_, SQLite::OPEN_READWRITE);
    database.exec(sql);
  }

  TemporaryDirectory directory_;
  const std::string path_ = directory_ / "uplink.db";
};

TEST_F(UplinkOutboxTest, NumbersGoOnAfterARestartAndAreNeverUsedAgain) {
  std::int64_t epoch = 0;
  {
    UplinkOutbox outbox = open();
    epoch = outbox.epoch();
    fill(outbox, 1, 4);
    ASSERT_TRUE(outbox.cut(3, {}));
  }
  UplinkOutbox outbox = open();
  EXPECT_EQ(outbox.epoch(), epoch);
  EXPECT_EQ(outbox.have(), 3);
  fill(outbox, 4, 6);
  EXPECT_EQ(numbers(outbox), (std::vector<std::int64_t>{4, 5}));
  EXPECT_EQ(outbox.marks().at("run"), "5");
}

TEST_F(UplinkOutboxTest, TwoFilesHaveTwoEpochs) {
  const auto first = open().epoch();
  std::filesystem::remove(path_);
  EXPECT_NE(open().epoch(), first);
}

TEST_F(UplinkOutboxTest, ADamagedRowKeepsItsNumberAndIsTakenAnew) {
  {
    UplinkOutbox outbox = open();
    fill(outbox, 1, 6);
  }
  change("UPDATE message SET body = x'00112233445566' WHERE seq = 3");
  UplinkOutbox outbox = open();
  const auto rows = outbox.after(0, 100).value();
  ASSERT_EQ(rows.size(), 5u);
  EXPECT_EQ(rows[2].head.kind, UplinkKind::lost);
  EXPECT_EQ(unsqueeze_uplink_body(rows[2].squeezed).value(), "{}");
  EXPECT_EQ(rows[3].head.kind, UplinkKind::runs);
  EXPECT_EQ(outbox.marks().at("run"), "2") << "back to before the third";
  EXPECT_EQ(outbox.counts().damaged, 1u);
  EXPECT_EQ(outbox.after(0, 100).value()[2].head.kind, UplinkKind::lost) << "once and for all";
  EXPECT_EQ(outbox.counts().damaged, 1u);
}

TEST_F(UplinkOutboxTest, ADamagedFileMakesRoomForANewEpochWithoutMarks) {
  std::int64_t epoch = 0;
  {
    UplinkOutbox outbox = open();
    epoch = outbox.epoch();
    fill(outbox, 1, 200);
  }
  std::fstream file(path_, std::ios::in | std::ios::out | std::ios::binary);
  file.seekp(4096);
  file << std::string(8192, 'x');
  file.close();
  UplinkOutbox outbox = open();
  EXPECT_NE(outbox.epoch(), epoch);
  EXPECT_EQ(outbox.last(), 0);
  EXPECT_TRUE(outbox.marks().empty());
  EXPECT_EQ(outbox.counts().damaged, 1u);
  fill(outbox, 1, 3);
  EXPECT_EQ(numbers(outbox), (std::vector<std::int64_t>{1, 2}));
}

TEST_F(UplinkOutboxTest, ANewEpochNumbersWhatWaitsAnew) {
  UplinkOutbox outbox = open();
  fill(outbox, 1, 6);
  ASSERT_TRUE(outbox.cut(2, {}));
  const auto epoch = outbox.epoch();
  ASSERT_TRUE(outbox.begin_epoch());
  EXPECT_NE(outbox.epoch(), epoch);
  EXPECT_EQ(outbox.have(), 0);
  EXPECT_EQ(numbers(outbox), (std::vector<std::int64_t>{1, 2, 3}));
  EXPECT_EQ(unsqueeze_uplink_body(outbox.after(0, 1).value()[0].squeezed).value(), "{\"n\":3}");
  fill(outbox, 6, 7);
  EXPECT_EQ(numbers(outbox, 3), (std::vector<std::int64_t>{4}));
}

}  // namespace
}  // namespace coilward
