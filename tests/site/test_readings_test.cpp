// Test readings entered at a running site: there at once, and after a restart.
#include <gtest/gtest.h>

#include "daemon/history/state_directory.h"
#include "daemon/site.h"
#include "tests/support/temporary_directory.h"

namespace coilward {
namespace {

constexpr std::string_view kOneZoneToml = R"([site]
id = "juniper-row-12"
[[zone]]
number = 4
)";
const std::string kReading = R"({"zone":4,"at":"valve","volts_on":26.1,"by":"Ana"})";

class EnteredLive : public testing::Test {
 protected:
  EnteredLive() {
    config.paths.state = directory.path();
    start();
  }
  void start() {
    auto intake = Intake::make(config, host);
    EXPECT_TRUE(intake) << intake.error().what;
    site.reset();
    intake_ = std::move(*intake);
    SiteLinks links;
    links.commit = [this](CommitUnit unit) { unit_ = std::move(unit); };
    links.publish = [](const std::string&, const std::string&, bool) {};
    site = std::make_unique<Site>(config, *intake_, clock, "0.1.0", std::move(links));
  }
  void to_disk() {
    auto store = StateStore::open(state_path(config.paths.state), "juniper-row-12");
    ASSERT_TRUE(store) << store.error().what;
    StateBatch batch;
    batch.test_readings = unit_.test_readings;
    ASSERT_TRUE(store->commit(batch));
  }
  std::size_t kept() {
    const auto rows = site->test_readings("f1");
    EXPECT_TRUE(rows) << rows.error().what;
    return rows ? rows->size() : 99;
  }

  TemporaryDirectory directory;
  Config config = *parse_config(kOneZoneToml, "site.toml");
  PluginHost host{COILWARD_BINARY_DIR "/plugins"};
  FakeClock clock{*parse_rfc3339("2026-05-04T06:00:00Z")};
  CommitUnit unit_;
  std::unique_ptr<Intake> intake_;
  std::unique_ptr<Site> site;
};

TEST_F(EnteredLive, IsThereBeforeAndAfterTheDisk) {
  ASSERT_TRUE(site->keep_test_reading("f1", kReading));
  EXPECT_EQ(kept(), 1u);
  EXPECT_TRUE(site->has_pending());
  site->tick();
  ASSERT_EQ(unit_.test_readings.size(), 1u);
  EXPECT_EQ(unit_.test_readings[0].json, kReading);
  EXPECT_EQ(kept(), 1u);
  to_disk();
  EXPECT_EQ(kept(), 1u);  // not twice
  clock.advance(std::chrono::minutes(5));
  ASSERT_TRUE(site->keep_test_reading("f1", kReading));  // the same shown again is another reading
  EXPECT_EQ(kept(), 2u);
  EXPECT_TRUE(site->test_readings("f2")->empty());
}

TEST_F(EnteredLive, SurvivesARestart) {
  ASSERT_TRUE(site->keep_test_reading("f1", kReading));
  site->tick();
  to_disk();
  start();
  const auto rows = site->test_readings("f1");
  ASSERT_TRUE(rows);
  ASSERT_EQ(rows->size(), 1u);
  EXPECT_EQ((*rows)[0].json, kReading);
  EXPECT_EQ((*rows)[0].at, clock.utc());
}

}  // namespace
}  // namespace coilward
