// Runners with the real plugins and real servers.
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "daemon/delivery/fake_outbox.h"
#include "daemon/delivery/notifier_runner.h"
#include "daemon/delivery/plugin_receiver.h"
#include "daemon/host/plugin_host.h"
#include "daemon/host/plugin_place.h"
#include "plugins/common/script_server.h"

namespace coilward {
namespace {

using coilward_plugins::ScriptServer;
using std::chrono::seconds;

constexpr const char* kId = "20260504-061209-z4-open_circuit.opened.1";

std::unique_ptr<Receiver> receiver(const std::string& plugin, const nlohmann::ordered_json& settings) {
  static PluginHost host(COILWARD_BINARY_DIR "/plugins");
  auto notifier = host.notifier(plugin, settings, {"test.toml", 1, "[[notifier]] test"});
  if (!notifier) throw std::runtime_error(notifier.error().what);
  return std::make_unique<NotifierReceiver>(std::move(*notifier));
}

struct PluginsTest : testing::Test {
  SystemClock clock;
  FakeOutbox mail_box, web_box;
  const std::string alert = nlohmann::json{
      {"id", kId},
      {"raised", format_rfc3339(clock.utc())},
      {"subject", "S"},
      {"text", "T\n"}}.dump();

  std::unique_ptr<NotifierRunner> mail(const ScriptServer& server) {
    return run("mail", mail_box,
               receiver("email", {{"url", "smtp://" + server.at()},
                                  {"starttls", false},
                                  {"from", "coilward@garden.example"},
                                  {"to", {"anna@example.org"}}}));
  }
  std::unique_ptr<NotifierRunner> run(const char* name, FakeOutbox& box, std::unique_ptr<Receiver> to) {
    return std::make_unique<NotifierRunner>(NotifierUse{name, name, "UTC", 1}, std::move(to),
                                            std::make_unique<FakeOutboxSource>(box), clock);
  }
  static std::vector<std::string> mail_server(const char* mode) { return {mode, "none", "", ""}; }
};

TEST_F(PluginsTest, AMailServerThatNeverAnswersDoesNotDelayAWebhook) {
  const ScriptServer silent("plugins/notifiers/email/test_server.py", mail_server("silent"));
  ScriptServer web("plugins/notifiers/webhook/test_server.py", {});
  mail_box.queue("a", alert, clock.utc());
  const auto stuck = mail(silent);
  const auto well = run("web", web_box, receiver("webhook", {{"url", "http://" + web.at() + "/200"}}));
  const auto before = std::chrono::steady_clock::now();
  web_box.queue("a", alert, clock.utc());
  well->wake();
  EXPECT_TRUE(web.got(seconds{2}));
  EXPECT_TRUE(stuck->stop(seconds{2}));
  EXPECT_LT(std::chrono::steady_clock::now() - before, seconds{4});
  EXPECT_EQ(mail_box.count(FakeOutbox::State::pending), 1u);
}

// Killed between the server's "taken" and our note of it.
TEST_F(PluginsTest, AMailThatIsSentAgainHasTheSameMessageId) {
  ScriptServer server("plugins/notifiers/email/test_server.py", mail_server("accept"));
  mail_box.queue(kId, alert, clock.utc());
  mail_box.fail_writes(true);
  auto runner = mail(server);
  const auto first = server.got();
  runner.reset();
  mail_box.fail_writes(false);
  runner = mail(server);
  const auto second = server.got();
  ASSERT_TRUE(first && second);
  EXPECT_EQ((*first)["headers"]["Message-ID"], std::string("<") + kId + "@garden.example>");
  EXPECT_EQ((*first)["headers"]["Message-ID"], (*second)["headers"]["Message-ID"]);
}

TEST(PluginPlaceTest, APluginThatKeepsFilesGetsADirectoryOfItsOwn) {
  Config config;
  config.paths.state = "/var/lib/coilward";
  PluginUse use{"../my phones", "webpush", Severity::watch, {{"contact", "mailto:a@b.example"}}, 7};
  EXPECT_EQ(own_directory(config, use), "/var/lib/coilward/webpush/___my_phones");
  PluginHost host(COILWARD_BINARY_DIR "/plugins");
  const auto made = [&](PluginPlace place) { return host.notifier("webpush", use.settings, place); };
  EXPECT_TRUE(made(place_of(config, use, "notifier")));
  const auto without = made({"site.toml", 7, "[[notifier]] phones"});
  ASSERT_FALSE(without);
  EXPECT_EQ(without.error().what,
            "site.toml:7: [[notifier]] phones: directory must be an absolute path, found \"\"");
}

}  // namespace
}  // namespace coilward
