// The built plugin against a real mosquitto.
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <mosquitto.h>
#include <sys/socket.h>
#include <unistd.h>

#include <future>

#include "plugins/common/plugin_under_test.h"
#include "plugins/common/script_server.h"
#include "tests/support/broker.h"

namespace coilward_plugins {
namespace {

using coilward::Broker;
using coilward::BrokerOptions;
using std::chrono::steady_clock;
using testing::HasSubstr;
using testing::Not;
using Json = nlohmann::json;

constexpr const char* kTopic = "house/garden/alert";

// Hears what is published, on a connection of its own.
class Listener {
 public:
  explicit Listener(const Broker& broker, const std::string& topic = "house/#")
      : topic_(topic), client_(mosquitto_new(nullptr, true, this)) {
    mosquitto_message_callback_set(client_, [](mosquitto*, void* self, const mosquitto_message* m) {
      static_cast<Listener*>(self)->heard_.push_back(
          {m->topic, std::string(static_cast<char*>(m->payload), static_cast<std::size_t>(m->payloadlen)),
           m->qos, m->retain});
    });
    mosquitto_subscribe_callback_set(client_, [](mosquitto*, void* self, int, int, const int*) {
      static_cast<Listener*>(self)->ready_ = true;
    });
    if (mosquitto_connect(client_, "127.0.0.1", broker.port(), 60) != MOSQ_ERR_SUCCESS)
      throw std::runtime_error("cannot listen");
    mosquitto_subscribe(client_, nullptr, topic_.c_str(), 1);
    turn([&] { return ready_; });
  }
  ~Listener() { mosquitto_destroy(client_); }

  struct Heard {
    std::string topic, payload;
    int qos;
    bool retain;
  };
  std::optional<Heard> next(std::chrono::milliseconds limit = std::chrono::seconds{10}) {
    turn([&] { return !heard_.empty(); }, limit);
    if (heard_.empty()) return std::nullopt;
    Heard first = heard_.front();
    heard_.erase(heard_.begin());
    return first;
  }

 private:
  template <class Condition>
  void turn(Condition condition, std::chrono::milliseconds limit = std::chrono::seconds{10}) {
    const auto deadline = steady_clock::now() + limit;
    while (!condition() && steady_clock::now() < deadline) mosquitto_loop(client_, 20, 1);
  }
  std::string topic_;
  mosquitto* client_;
  bool ready_ = false;
  std::vector<Heard> heard_;
};

struct MqttTest : testing::Test {
  TemporaryDirectory directory;
  std::string alert = file_text(COILWARD_SOURCE_DIR "/plugins/notifiers/mqtt/cases/plain/alert.json");
  static Json settings(const Broker& broker) { return {{"url", broker.url()}, {"topic", kTopic}}; }
  Reply send(const Json& with, double timeout_s = 10) {
    PluginUnderTest plugin("mqtt.so", with);
    const Reply reply = plugin.deliver(alert, timeout_s);
    EXPECT_THAT(reply.words + plugin.logged(), Not(HasSubstr("correct horse")));
    return reply;
  }
};

TEST_F(MqttTest, TheAlertArrivesAsJsonAndAsText) {
  Broker broker;
  Listener listener(broker);
  Json with = settings(broker);
  with["text_topic"] = "house/garden/text";
  for (const char* version : {"5", "3.1.1"}) {
    with["version"] = version;
    const Reply reply = send(with);
    EXPECT_EQ(reply.outcome, COILWARD_DONE) << reply.words;
    EXPECT_EQ(reply.words, "the broker took it");
    const auto json = listener.next(), text = listener.next();
    ASSERT_TRUE(json && text);
    EXPECT_EQ(json->topic, kTopic);
    EXPECT_EQ(json->qos, 1);
    EXPECT_FALSE(json->retain);
    EXPECT_EQ(
        Json::parse(json->payload),
        Json::parse(file_text(COILWARD_SOURCE_DIR "/plugins/notifiers/mqtt/cases/plain/expected.json")));
    EXPECT_EQ(text->topic, "house/garden/text");
    EXPECT_THAT(text->payload,
                testing::StartsWith("[Juniper Row 12] Zone 4 (East hedge) is not watering\n\nZone 4"));
  }
}

TEST_F(MqttTest, ARetainedOneIsThereForWhoComesLater) {
  Broker broker;
  Json with = settings(broker);
  with["retain"] = true;
  EXPECT_THAT(send(with).words, HasSubstr("nobody listens"));
  Listener late(broker);
  EXPECT_TRUE(late.next().value().retain);
}

TEST_F(MqttTest, OverTlsWithALogin) {
  Broker broker({.passwords = {{"garden", "correct horse"}}, .tls = true});
  Json with = settings(broker);
  with.update({{"ca_file", broker.ca_file()},
               {"username", "garden"},
               {"password_file", broker.secret_file("password", "correct horse\n")}});
  EXPECT_EQ(send(with).outcome, COILWARD_DONE);
  with.erase("ca_file");
  const Reply untrusted = send(with);
  EXPECT_EQ(untrusted.outcome, COILWARD_RETRY);
  EXPECT_THAT(untrusted.words, testing::StartsWith("TLS failed: "));
  EXPECT_THAT(untrusted.words, HasSubstr("certificate verify failed"));
}

TEST_F(MqttTest, AWrongPasswordIsLaterInTheBrokersWords) {
  Broker broker({.passwords = {{"garden", "correct horse"}}});
  Json with = settings(broker);
  with.update({{"username", "garden"}, {"password_file", broker.secret_file("password", "wrong")}});
  for (const char* version : {"5", "3.1.1"}) {
    with["version"] = version;
    const Reply reply = send(with);
    EXPECT_EQ(reply.outcome, COILWARD_RETRY);
    EXPECT_THAT(reply.words, testing::StartsWith("login refused: "));
    EXPECT_THAT(reply.words, HasSubstr("uthori")) << "the broker's own word";
  }
}

TEST_F(MqttTest, ATopicThatIsNotAllowedIsRefused) {
  Broker broker({.access_list = "topic read house/#\n"});
  const Reply reply = send(settings(broker));
  EXPECT_EQ(reply.outcome, COILWARD_REFUSED);
  EXPECT_THAT(reply.words, HasSubstr("the broker refused the message: Not authorized"));
}

TEST_F(MqttTest, ABrokerThatIsDownIsLaterAndTakesItWhenItIsBack) {
  Broker broker;
  broker.stop();
  const Reply down = send(settings(broker));
  EXPECT_EQ(down.outcome, COILWARD_RETRY);
  EXPECT_THAT(down.words, testing::StartsWith("connection refused: "));
  broker.start();
  EXPECT_EQ(send(settings(broker)).outcome, COILWARD_DONE);
  Broker over_tls({.tls = true});
  over_tls.stop();
  Json trusted = settings(over_tls);
  trusted["ca_file"] = over_tls.ca_file();
  EXPECT_THAT(send(trusted).words, testing::StartsWith("connection refused: "));
}

TEST_F(MqttTest, ABrokerThatHangsEndsAtTheTimeLimit) {
  Broker broker;
  broker.freeze();
  const auto before = steady_clock::now();
  const Reply reply = send(settings(broker), 0.5);
  EXPECT_EQ(reply.outcome, COILWARD_RETRY);
  EXPECT_THAT(reply.words, testing::StartsWith("no answer in time"));
  EXPECT_LT(steady_clock::now() - before, std::chrono::seconds{5});
  broker.thaw();
}

TEST_F(MqttTest, AnInterruptEndsItAtOnce) {
  Broker broker;
  broker.freeze();
  PluginUnderTest plugin("mqtt.so", settings(broker));
  auto running = std::async(std::launch::async, [&] { return plugin.deliver(alert, 60); });
  while (running.wait_for(std::chrono::milliseconds{20}) != std::future_status::ready) plugin.interrupt();
  EXPECT_EQ(running.get().words, "interrupted");
  broker.thaw();
}

TEST_F(MqttTest, ANameThatIsNoneIsLater) {
  const Reply reply = send({{"url", "mqtt://broker.invalid"}, {"topic", kTopic}});
  EXPECT_EQ(reply.outcome, COILWARD_RETRY);
  EXPECT_THAT(reply.words, testing::StartsWith("no such host (DNS): broker.invalid"));
}

TEST_F(MqttTest, APasswordThatEverybodyMayReadIsNotUsed) {
  Broker broker;
  Json with = settings(broker);
  with.update(
      {{"username", "garden"}, {"password_file", directory.write("password", "correct horse", 0644)}});
  EXPECT_THAT(send(with).words, HasSubstr("may be read by everybody"));
}

TEST_F(MqttTest, SettingsThatCannotWorkAreRefusedAtOnce) {
  const auto refused = [&](const Json& bad, const char* words) {
    Json with = {{"url", "mqtt://127.0.0.1"}, {"topic", kTopic}};
    with.update(bad);
    try {
      PluginUnderTest plugin("mqtt.so", with);
      ADD_FAILURE() << bad << " was accepted";
    } catch (const std::runtime_error& e) {
      EXPECT_THAT(e.what(), HasSubstr(words));
    }
  };
  for (const char* url : {"broker", "mqtt://", "mqtt://a:0", "mqtt://a:65536", "mqtt://a:1x",
                          "mqtt://me:secret@a", "http://a", "mqtt://a/b"})
    refused({{"url", url}}, "url must be");
  for (const char* topic : {"", "a/+/b", "#"}) refused({{"topic", topic}}, "topic must be");
  refused({{"text_topic", "a/#"}}, "text_topic must be");
  refused({{"password_file", "/x"}}, "needs username");
  refused({{"cert_file", "/x"}}, "belong together");
  refused({{"url", "mqtt://broker.example"}, {"username", "me"}, {"password_file", "/x"}}, "without TLS");
  EXPECT_EQ(PluginUnderTest("mqtt.so", {{"url", "mqtt://127.0.0.1"}, {"topic", kTopic}})
                .deliver("not json")
                .outcome,
            COILWARD_REFUSED);
}

}  // namespace
}  // namespace coilward_plugins
