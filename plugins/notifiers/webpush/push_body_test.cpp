// RFC 8291 section 5 and appendix A, byte for byte (tests/reference/formats/webpush_rfc8291.json).
#include "plugins/notifiers/webpush/push_body.h"

#include <gtest/gtest.h>

#include <fstream>
#include <nlohmann/json.hpp>

#include "plugins/notifiers/webpush/base64url.h"

namespace coilward_plugins {
namespace {

struct Rfc8291 {
  nlohmann::json json = nlohmann::json::parse(
      std::ifstream(COILWARD_SOURCE_DIR "/tests/reference/formats/webpush_rfc8291.json"));
  std::string text(const char* key) const { return json.at(key).get<std::string>(); }
  std::string bytes(const char* key) const { return base64url_bytes(text(key)).value(); }
};

TEST(PushBody, IsThatOfRfc8291Section5) {
  const Rfc8291 rfc;
  const auto sender = PushKey::from_raw(rfc.bytes("as_private"), rfc.bytes("as_public"));
  EXPECT_EQ(base64url(sender.shared_with(rfc.bytes("ua_public"))),
            rfc.json["intermediate"]["ecdh_secret"].get<std::string>());
  const std::string body = push_body(rfc.text("plaintext"), rfc.bytes("ua_public"), rfc.bytes("auth_secret"),
                                     sender, rfc.bytes("salt"));
  EXPECT_EQ(base64url(body), rfc.text("body"));
}

TEST(PushBody, BothSidesAgreeOnTheSecretOfRfc8291AppendixA) {
  const Rfc8291 rfc;
  const auto phone = PushKey::from_raw(rfc.bytes("ua_private"), rfc.bytes("ua_public"));
  EXPECT_EQ(base64url(phone.shared_with(rfc.bytes("as_public"))),
            rfc.json["intermediate"]["ecdh_secret"].get<std::string>());
}

TEST(PushBody, NeverUsesAKeyOrASaltTwice) {
  const Rfc8291 rfc;
  const auto body = [&] { return push_body("same", rfc.bytes("ua_public"), rfc.bytes("auth_secret")); };
  const std::string one = body(), two = body();
  EXPECT_NE(one.substr(0, kSaltSize), two.substr(0, kSaltSize));
  EXPECT_NE(one.substr(21, kPointSize), two.substr(21, kPointSize));
}

TEST(PushBody, IsAtMostWhatEveryPushServiceTakes) {
  const Rfc8291 rfc;
  const std::string point = rfc.bytes("ua_public"), secret = rfc.bytes("auth_secret");
  EXPECT_EQ(push_body(std::string(kMostPlain, 'x'), point, secret).size(), 4096u) << "RFC 8291 section 4";
  EXPECT_THROW(push_body(std::string(kMostPlain + 1, 'x'), point, secret), std::invalid_argument);
}

TEST(PushBody, AKeyThatIsNoneIsRefused) {
  const Rfc8291 rfc;
  const std::string point = rfc.bytes("ua_public"), secret = rfc.bytes("auth_secret");
  std::string off_the_curve = point;
  off_the_curve.back() = static_cast<char>(off_the_curve.back() ^ 1);
  EXPECT_THROW(push_body("", off_the_curve, secret), std::invalid_argument);
  EXPECT_THROW(push_body("", point.substr(1), secret), std::invalid_argument);
  EXPECT_THROW(push_body("", "", secret), std::invalid_argument);
  EXPECT_THROW(push_body("", point, secret + "x"), std::invalid_argument);
}

TEST(Base64Url, IsThatOfRfc4648Section10WithoutPadding) {
  for (const auto& [bytes, text] :
       {std::pair{"", ""}, {"f", "Zg"}, {"fo", "Zm8"}, {"foo", "Zm9v"}, {"foobar", "Zm9vYmFy"}}) {
    EXPECT_EQ(base64url(bytes), text);
    EXPECT_EQ(base64url_bytes(text), bytes);
  }
  EXPECT_EQ(base64url("\xfb\xff"), "-_8");
  EXPECT_EQ(base64url_bytes("-_8="), "\xfb\xff");
  for (const char* wrong : {"+_8", "a", "Zm9v\n", "Zm 9"}) EXPECT_FALSE(base64url_bytes(wrong)) << wrong;
}

}  // namespace
}  // namespace coilward_plugins
