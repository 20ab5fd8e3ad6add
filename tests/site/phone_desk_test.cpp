// What the page's desk keeps is what the webpush plugin reads.
#include "daemon/phone_desk.h"

#include <gtest/gtest.h>

#include "plugins/notifiers/webpush/base64url.h"
#include "plugins/notifiers/webpush/push_key.h"
#include "tests/support/temporary_directory.h"

namespace coilward {
namespace {

using coilward_plugins::base64url;
using coilward_plugins::PushKey;

struct PhoneDeskTest : testing::Test {
  PhoneDeskTest() {
    config.paths.state = directory.path();
    config.notifiers = {{"phones", "webpush"}, {"mail", "email"}};
    subscription = {"https://push.example/abc", base64url(PushKey::make().point()),
                    base64url("sixteen octets!!"), "Anna's phone"};
  }
  TemporaryDirectory directory;
  Config config;
  SystemClock clock;
  WebPushDesk desk{config, clock};
  PhoneSubscription subscription;
};

TEST_F(PhoneDeskTest, KeepsPhonesBelowTheStateDirectory) {
  ASSERT_TRUE(desk.add("phones", subscription));
  const auto phones = desk.phones("phones").value();
  ASSERT_EQ(phones.size(), 1u);
  EXPECT_EQ(phones[0].label, "Anna's phone");
  EXPECT_EQ(phones[0].service, "push.example");
  EXPECT_TRUE(std::filesystem::exists(directory / "webpush/phones/" + phones[0].id + ".json"));
  EXPECT_TRUE(desk.remove("phones", phones[0].id));
  EXPECT_EQ(desk.remove("phones", phones[0].id).error().cause, Cause::not_found);
  EXPECT_TRUE(desk.phones("phones").value().empty());
}

TEST_F(PhoneDeskTest, GivesTheKeyThatMessagesAreSignedWith) {
  const std::string key = desk.key("phones").value();
  EXPECT_EQ(key, base64url(PushKey::read_or_make(directory / "webpush/vapid.pem").point()));
  config.notifiers[0].settings["key_file"] = directory / "elsewhere.pem";
  EXPECT_NE(desk.key("phones").value(), key);
  EXPECT_TRUE(std::filesystem::exists(directory / "elsewhere.pem"));
}

TEST_F(PhoneDeskTest, SaysWhatIsWrong) {
  subscription.endpoint = "http://push.example/abc";
  EXPECT_EQ(desk.add("phones", subscription).error().cause, Cause::bad_input);
  EXPECT_EQ(desk.key("mail").error().cause, Cause::not_found);
  EXPECT_EQ(desk.phones("nobody").error().cause, Cause::not_found);
}

}  // namespace
}  // namespace coilward
