// The broker settings that we ship do what they say, in a real broker set up as Debian's is.
#include <gtest/gtest.h>

#include "daemon/mqtt/client_fixture.h"
#include "tests/broker/shipped_settings.h"

namespace coilward {
namespace {

constexpr int kMessages = 3000;  // more than mosquitto's default keeps

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
