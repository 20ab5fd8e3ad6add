// Who may say and hear what on a broker with the access list that we ship.
#include <gtest/gtest.h>

#include "daemon/mqtt/client_fixture.h"
#include "tests/broker/shipped_settings.h"

namespace coilward {
namespace {

constexpr const char* kMeasure = "coilward/juniper/measure/zone/1/current";
constexpr const char* kReport = "coilward/juniper/report/zone/1";

class AccessList : public testing::Test {
 protected:
  MqttConfig as(const std::string& user, const std::string& password) {
    MqttConfig config = broker_config(broker_.url());
    config.username = user;
    config.password_file = broker_.secret_file(user, password + "\n");
    return config;
  }
  MqttConfig daemon() { return as("coilward", "one"); }
  MqttConfig sensors() { return as("sensors", "two"); }
  MqttConfig readers() { return as("readers", "three"); }
  // Asks for everything.
  ClientOptions listening(const MqttConfig& who) {
    ClientOptions options = client_options(broker_.url());
    options.mqtt = who;
    options.mqtt.client_id = "listener-" + who.username;
    options.filters = {"#"};
    return options;
  }
  static int heard(Subscriber& subscriber, const std::string& topic) {
    int count = 0;
    for (const Received& r : subscriber.received()) count += r.topic == topic ? 1 : 0;
    return count;
  }

  TemporaryDirectory etc_;
  Broker broker_{with_shipped_settings(etc_)};
};

TEST_F(AccessList, SensorsOnlySpeakUnderMeasure) {
  Subscriber site(listening(daemon()));
  Subscriber sensor(listening(sensors()));
  ASSERT_TRUE(site.start().ready());
  ASSERT_TRUE(sensor.start().ready());
  publish_once(sensors(), kReport, "forged");
  publish_once(sensors(), "coilward/other-site/measure/zone/1/current", "forged");
  publish_once(sensors(), kMeasure, "0.231");
  publish_once(daemon(), kReport, "true");
  ASSERT_TRUE(site.receives(kMeasure, "0.231"));
  ASSERT_TRUE(site.receives(kReport, "true"));
  EXPECT_EQ(heard(site, kReport), 1) << "a sensor may not speak for the daemon";
  EXPECT_EQ(heard(site, "coilward/other-site/measure/zone/1/current"), 0);
  EXPECT_TRUE(sensor.received().empty()) << "a sensor hears nothing";
}

TEST_F(AccessList, ReadersOnlyHearReports) {
  Subscriber reader(listening(readers()));
  Subscriber site(listening(daemon()));
  ASSERT_TRUE(reader.start().ready());
  ASSERT_TRUE(site.start().ready());
  publish_once(readers(), kMeasure, "forged");
  publish_once(readers(), kReport, "forged");
  publish_once(sensors(), kMeasure, "0.231");
  publish_once(daemon(), kReport, "true");
  ASSERT_TRUE(reader.receives(kReport, "true"));
  EXPECT_EQ(heard(reader, kMeasure), 0);
  ASSERT_TRUE(site.receives(kMeasure, "0.231"));
  ASSERT_TRUE(site.receives(kReport, "true"));
  EXPECT_EQ(heard(site, kMeasure), 1) << "a reader may not speak for a sensor";
  EXPECT_EQ(heard(site, kReport), 1);
}

}  // namespace
}  // namespace coilward
