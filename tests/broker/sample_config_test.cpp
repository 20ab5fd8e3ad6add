// The broker settings that we ship do what they say, in a real broker set up as Debian's is.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <iterator>

#include "daemon/mqtt/client_fixture.h"

namespace coilward {
namespace {

constexpr int kMessages = 3000;  // more than mosquitto's default keeps

std::string shipped(const std::string& name) {
  std::ifstream in(std::string(COILWARD_SOURCE_DIR) + "/config/" + name);
  return {std::istreambuf_iterator<char>(in), {}};
}

void replace_all(std::string& text, const std::string& from, const std::string& to) {
  for (std::size_t at = 0; (at = text.find(from, at)) != std::string::npos; at += to.size()) {
    text.replace(at, from.size(), to);
  }
}

// The shipped file in a folder that the broker's own configuration includes. Only what must differ in a test
// is changed: the listener is the fixture's, and the files are not in /etc.
BrokerOptions with_shipped_settings(const TemporaryDirectory& etc) {
  std::filesystem::create_directory(etc / "conf.d");
  std::string settings = shipped("mosquitto.conf");
  replace_all(settings, "\nlistener 1883 127.0.0.1\n", "\n");
  replace_all(settings, "/etc/mosquitto", etc.path());
  std::ofstream(etc / "conf.d/coilward.conf") << settings;
  std::string access = shipped("mosquitto.acl");
  replace_all(access, "juniper-row-12", "juniper");
  std::ofstream(etc / "coilward.acl") << access;
  std::ofstream(etc / "passwords").close();
  run_to_end({find_program("mosquitto_passwd"), "-b", etc / "passwords", "coilward", "one"});
  run_to_end({find_program("mosquitto_passwd"), "-b", etc / "passwords", "sensors", "two"});
  BrokerOptions options;
  options.persistence = true;
  options.extra = "include_dir " + (etc / "conf.d") + "\n";
  return options;
}

// Publishes while the client is away, restarts the broker, and counts what arrives.
std::size_t heard_after_absence(Broker& broker, ClientOptions options, const MqttConfig& sensor) {
  {
    Subscriber first(options);
    EXPECT_TRUE(first.start().ready());
    EXPECT_TRUE(first.client().stop());
  }
  auto publisher = Publisher::connect(sensor);
  if (!publisher) throw std::runtime_error(publisher.error().what);
  for (int i = 0; i < kMessages; ++i) {
    EXPECT_TRUE((*publisher)->publish("coilward/juniper/measure/zone/1/current", std::to_string(i)));
  }
  EXPECT_TRUE((*publisher)->flush());
  publisher->reset();
  broker.restart();
  Subscriber second(options);
  EXPECT_TRUE(second.start().ready());
  publish_once(sensor, "coilward/juniper/measure/zone/1/current", "last");
  EXPECT_TRUE(second.receives("coilward/juniper/measure/zone/1/current", "last"));
  return second.received().size() - 1;
}

TEST(ShippedBrokerSettings, KeepWhatComesWhileTheDaemonIsAway) {
  TemporaryDirectory etc;
  Broker broker(with_shipped_settings(etc));
  ClientOptions options = client_options(broker.url());
  options.mqtt.username = "coilward";
  options.mqtt.password_file = broker.secret_file("daemon", "one\n");
  MqttConfig sensor = broker_config(broker.url());
  sensor.username = "sensors";
  sensor.password_file = broker.secret_file("sensor", "two\n");
  EXPECT_EQ(heard_after_absence(broker, options, sensor), static_cast<std::size_t>(kMessages));
}

TEST(ShippedBrokerSettings, AreNeededForIt) {
  BrokerOptions defaults;
  defaults.persistence = true;
  Broker broker(defaults);
  const auto heard = heard_after_absence(broker, client_options(broker.url()), broker_config(broker.url()));
  EXPECT_LT(heard, static_cast<std::size_t>(kMessages));
  EXPECT_GE(heard, 1000u);
}

TEST(ShippedBrokerSettings, LetNobodyInWithoutAPassword) {
  TemporaryDirectory etc;
  Broker broker(with_shipped_settings(etc));
  auto stranger = Publisher::connect(broker_config(broker.url()));
  ASSERT_FALSE(stranger);
  EXPECT_NE(stranger.error().what.find("login"), std::string::npos) << stranger.error().what;
}

}  // namespace
}  // namespace coilward
