// The built plugin against a push service of our own, where a phone opens what came with another library.
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <future>

#include "plugins/common/plugin_under_test.h"
#include "plugins/common/script_server.h"
#include "plugins/common/test_certificate.h"
#include "plugins/notifiers/webpush/phones.h"

namespace coilward_plugins {
namespace {

using std::chrono::milliseconds;
using std::chrono::steady_clock;
using testing::HasSubstr;
using testing::Not;
using Json = nlohmann::json;

constexpr const char* kCases = COILWARD_SOURCE_DIR "/plugins/notifiers/webpush/cases/";

std::string alert(const std::string& name) { return file_text(std::string(kCases) + name + "/alert.json"); }

// One for all tests: its start takes a second.
ScriptServer& push_service() {
  static ScriptServer server("plugins/notifiers/webpush/test_server.py",
                             {certificates() / "cert.pem", certificates() / "key.pem"});
  return server;
}
const Json& phone_keys() {
  static const Json keys = push_service().got().value();
  return keys;
}

struct WebPushTest : testing::Test {
  TemporaryDirectory directory;
  const Json& keys = phone_keys();
  ScriptServer& server = push_service();
  Phones phones{directory / "webpush/phones"};
  ~WebPushTest() override {
    while (server.got(milliseconds{1})) {  // what a test did not look at
    }
  }
  Json settings = {{"contact", "mailto:me@example.org"},
                   {"directory", directory / "webpush/phones"},
                   {"ca_file", certificates() / "cert.pem"}};

  std::string add(const std::string& path, const std::string& label = "Anna's phone") {
    const std::string p256dh = keys["p256dh"], auth = keys["auth"];
    return phones.add({"https://" + server.at() + path, p256dh, auth, label}, 0).id;
  }
  Reply push(double timeout_s = 10) {
    return PluginUnderTest("webpush.so", settings).deliver(alert("plain"), timeout_s);
  }
};

class WebPushCase : public WebPushTest, public testing::WithParamInterface<const char*> {};
INSTANTIATE_TEST_SUITE_P(Cases, WebPushCase, testing::Values("plain", "umlauts", "long", "test"),
                         [](const auto& each) { return std::string(each.param); });

TEST_P(WebPushCase, ThePhoneReadsWhatWasMeant) {
  add("/201/abc");
  PluginUnderTest plugin("webpush.so", settings);
  const Reply reply = plugin.deliver(alert(GetParam()));
  ASSERT_EQ(reply.outcome, COILWARD_DONE) << reply.words;
  const Json got = server.got().value();
  EXPECT_EQ(got["words"], Json::parse(file_text(std::string(kCases) + GetParam() + "/expected.json")));
  EXPECT_LE(got["size"], 4096) << "RFC 8291 section 4";
}

TEST_F(WebPushTest, TheRequestIsThatOfTheStandards) {
  add("/201/abc");
  ASSERT_EQ(push().outcome, COILWARD_DONE);
  const Json got = server.got().value();
  EXPECT_EQ(got["headers"]["Content-Encoding"], "aes128gcm") << "RFC 8291 section 4";
  EXPECT_EQ(got["headers"]["TTL"], "86400") << "RFC 8030 section 5.2";
  EXPECT_EQ(got["headers"]["Urgency"], "high") << "RFC 8030 section 5.3";
  EXPECT_THAT(got["headers"]["Topic"], testing::MatchesRegex("[A-Za-z0-9_-]{1,32}"))
      << "RFC 8030 section 5.4";
  ASSERT_TRUE(got["claims"].is_object()) << "its token is not signed by the key beside it";
  EXPECT_EQ(got["claims"]["aud"], "https://" + server.at());
  EXPECT_EQ(got["claims"]["sub"], "mailto:me@example.org");
  const double lasts = got["claims"]["exp"].get<double>() - static_cast<double>(std::time(nullptr));
  EXPECT_GT(lasts, 3600);
  EXPECT_LT(lasts, 24 * 3600) << "RFC 8292 section 2";
}

TEST_F(WebPushTest, TheKeyStaysTheSame) {
  add("/201/abc");
  push();
  push();
  EXPECT_EQ(server.got().value()["claims"]["k"], server.got().value()["claims"]["k"]);
}

TEST_F(WebPushTest, EachAnswerIsJudged) {
  const auto outcome = [&](const std::string& path) {
    const std::string id = add(path);
    const Reply reply = push();
    phones.remove(id);
    return reply.outcome;
  };
  for (const char* path : {"/200/a", "/201/a", "/202/a"}) EXPECT_EQ(outcome(path), COILWARD_DONE) << path;
  for (const char* path : {"/408/a", "/425/a", "/429/a", "/500/a", "/503/a", "/cut"})
    EXPECT_EQ(outcome(path), COILWARD_RETRY) << path;
  for (const char* path : {"/400/a", "/401/a", "/403/a", "/413/a", "/302/a"})
    EXPECT_EQ(outcome(path), COILWARD_REFUSED) << path;
}

TEST_F(WebPushTest, APhoneThatIsNoMoreIsTakenAway) {
  for (const char* path : {"/404/a", "/410/a"}) {
    add(path, "Old phone");
    PluginUnderTest plugin("webpush.so", settings);
    const Reply reply = plugin.deliver(alert("plain"));
    EXPECT_EQ(reply.outcome, COILWARD_RETRY) << "nobody was told";
    EXPECT_THAT(reply.words, HasSubstr("no phone is left"));
    EXPECT_TRUE(phones.all().empty());
    EXPECT_THAT(plugin.logged(), HasSubstr("\"Old phone\" is no more"));
  }
  add("/410/b", "Old phone");
  const std::string stays = add("/201/b");
  EXPECT_EQ(push().outcome, COILWARD_DONE);
  ASSERT_EQ(phones.all().size(), 1u);
  EXPECT_EQ(phones.all()[0].id, stays);
}

TEST_F(WebPushTest, WhoWasToldIsNotToldAgainWhileAnotherIsStillTried) {
  add("/201/told", "A");
  const std::string busy = add("/503/busy", "B");
  PluginUnderTest plugin("webpush.so", settings);
  const Reply first = plugin.deliver(alert("plain"));
  EXPECT_EQ(first.outcome, COILWARD_RETRY);
  EXPECT_EQ(first.words, "1 of 2 told; B: HTTP 503");
  ASSERT_TRUE(server.got() && server.got());
  plugin.deliver(alert("plain"));
  EXPECT_EQ(server.got().value()["path"], "/503/busy");
  phones.remove(busy);
  add("/201/better", "B");
  EXPECT_EQ(plugin.deliver(alert("plain")).outcome, COILWARD_DONE);
  EXPECT_EQ(server.got().value()["path"], "/201/better");
  EXPECT_FALSE(server.got(milliseconds{100})) << "the first was told once";
}

TEST_F(WebPushTest, AnAskedWaitIsKeptForThatPhoneAlone) {
  add("/429/a?after=120", "A");
  add("/201/b", "B");
  PluginUnderTest plugin("webpush.so", settings);
  EXPECT_THAT(plugin.deliver(alert("plain")).words, HasSubstr("asks to wait 120 s"));
  ASSERT_TRUE(server.got() && server.got());
  const Reply second = plugin.deliver(alert("plain"));
  EXPECT_EQ(second.outcome, COILWARD_RETRY);
  EXPECT_THAT(second.words, HasSubstr("asked to wait; not sent for"));
  EXPECT_FALSE(server.got(milliseconds{100}));
  EXPECT_EQ(plugin.deliver(alert("test")).outcome, COILWARD_RETRY) << "B is told, A is waited for";
  EXPECT_EQ(server.got().value()["path"], "/201/b");
}

TEST_F(WebPushTest, AShortAskedWaitEnds) {
  add("/503/a?after=1");
  PluginUnderTest plugin("webpush.so", settings);
  plugin.deliver(alert("plain"));
  ASSERT_TRUE(server.got());
  const auto deadline = steady_clock::now() + std::chrono::seconds{10};
  while (!server.got(milliseconds{50}) && steady_clock::now() < deadline) plugin.deliver(alert("plain"));
  EXPECT_LT(steady_clock::now(), deadline);
}

TEST_F(WebPushTest, OneThatHangsLeavesTheOthersTheirTime) {
  add("/hang/a", "A");
  add("/201/b", "B");
  const auto before = steady_clock::now();
  const Reply reply = push(1);
  EXPECT_LT(steady_clock::now() - before, std::chrono::seconds{5});
  EXPECT_EQ(reply.outcome, COILWARD_RETRY);
  EXPECT_THAT(reply.words, HasSubstr("1 of 2 told; A: no answer in time"));
}

TEST_F(WebPushTest, AnInterruptEndsItAtOnce) {
  add("/hang/a", "A");
  add("/hang/b", "B");
  PluginUnderTest plugin("webpush.so", settings);
  auto running = std::async(std::launch::async, [&] { return plugin.deliver(alert("plain"), 60); });
  ASSERT_TRUE(server.got());
  while (running.wait_for(milliseconds{20}) != std::future_status::ready) plugin.interrupt();
  EXPECT_EQ(running.get().words, "interrupted");
}

TEST_F(WebPushTest, NobodyYetIsLaterAndSaysWhatToDo) {
  const Reply reply = push();
  EXPECT_EQ(reply.outcome, COILWARD_RETRY);
  EXPECT_THAT(reply.words, HasSubstr("Tell this phone"));
}

TEST_F(WebPushTest, ACertificateThatIsNotTrustedIsNotAccepted) {
  add("/201/a");
  settings.erase("ca_file");
  const Reply reply = push();
  EXPECT_EQ(reply.outcome, COILWARD_RETRY);
  EXPECT_THAT(reply.words, HasSubstr("certificate"));
  EXPECT_FALSE(server.got(milliseconds{50}));
}

TEST_F(WebPushTest, SettingsThatCannotWorkAreRefusedAtOnce) {
  const auto refused = [&](const char* key, const char* value) {
    Json bad = settings;
    bad[key] = value;
    EXPECT_THROW(PluginUnderTest("webpush.so", bad), std::runtime_error) << key;
  };
  refused("contact", "me@example.org");
  refused("directory", "phones");
  refused("directory", "");
  EXPECT_EQ(PluginUnderTest("webpush.so", settings).deliver("not json").outcome, COILWARD_REFUSED);
}

}  // namespace
}  // namespace coilward_plugins
