// When the page may be opened, and what of its certificate is said when.
#include "daemon/door.h"

#include <gmock/gmock.h>

#include "daemon/login/login_file.h"
#include "tests/support/certificate.h"
#include "tests/support/temporary_directory.h"

namespace coilward {
namespace {

using std::chrono::hours;
using testing::HasSubstr;

class DoorTest : public testing::Test {
 protected:
  DoorTest() {
    make_certificate(certificate, key, 5, 100);
    config_.file = "site.toml";
    config_.paths.state = directory_.path();
    config_.http.port = 8470;
    config_.http.certificate = certificate;
    config_.http.key = key;
  }
  std::unique_ptr<Door> door() {
    auto made = Door::make(config_, core_, clock_);
    EXPECT_TRUE(made) << made.error().what;
    return made ? std::move(*made) : nullptr;
  }
  std::vector<std::string> stages(const Door& door) {
    std::vector<HealthStage> list;
    door.add_health(list);
    std::vector<std::string> out;
    for (const HealthStage& stage : list) out.push_back(stage.name + (stage.ok ? " ok" : " " + stage.why));
    return out;
  }

  TemporaryDirectory directory_;
  const std::string certificate = directory_ / "page.pem", key = directory_ / "page.key";
  FakeClock clock_{SystemClock().utc()};
  boost::asio::io_context core_;
  Config config_;
};

TEST_F(DoorTest, ACertificateIsToldOfThreeWeeksBeforeItEnds) {
  const auto door = this->door();
  const UtcTime ends = door->certificate()->ends();
  EXPECT_THAT(stages(*door), testing::ElementsAre("certificate ok"));
  clock_.jump_utc(ends - hours{21 * 24 + 1});
  EXPECT_EQ(door->certificate_trouble(), "");
  clock_.jump_utc(ends - hours{21 * 24});
  EXPECT_EQ(door->certificate_trouble(), certificate + " ends " + format_rfc3339(ends) + ": renew it");
  EXPECT_THAT(stages(*door), testing::ElementsAre("certificate " + door->certificate_trouble()));
  clock_.jump_utc(ends + hours{1});
  EXPECT_THAT(door->certificate_trouble(), HasSubstr(" ended "));
}

TEST_F(DoorTest, OfAShortOneWhenAQuarterOfItsTimeIsLeft) {
  make_certificate(certificate, key, 6, 8);
  const auto door = this->door();
  clock_.jump_utc(door->certificate()->ends() - hours{49});
  EXPECT_EQ(door->certificate_trouble(), "");
  clock_.jump_utc(door->certificate()->ends() - hours{47});
  EXPECT_THAT(door->certificate_trouble(), HasSubstr("renew it"));
}

TEST_F(DoorTest, WhereThereIsNoneNothingIsSaidOfIt) {
  config_.http.certificate = config_.http.key = "";
  EXPECT_THAT(stages(*door()), testing::IsEmpty());
}

TEST_F(DoorTest, OthersDoNotReachAPageThatAsksNobody) {
  const auto door = this->door();
  for (const char* beyond : {"0.0.0.0", "::", "192.168.1.10", "::ffff:127.0.0.1"}) {
    Config opened = config_;
    opened.http.address = beyond;
    const auto fits = door->fits(opened);
    ASSERT_FALSE(fits) << beyond;
    EXPECT_EQ(fits.error().cause, Cause::bad_config);
  }
  for (const char* here : {"", "127.0.0.1", "127.8.0.1", "::1"}) {
    Config own = config_;
    own.http.address = here;
    EXPECT_TRUE(door->fits(own)) << here;
  }
}

}  // namespace
}  // namespace coilward
