// Whatever happens to the broker, every topic is heard again afterwards. Short by default; twenty restarts
// each with COILWARD_LONG in the environment.
#include <gtest/gtest.h>

#include <iostream>

#include "daemon/mqtt/client_fixture.h"

namespace coilward {
namespace {

using namespace std::chrono_literals;

const std::vector<std::string> kTopics = {"coilward/juniper/measure/zone/1/current",
                                          "coilward/juniper/measure/supply/voltage", "garden/shed/clamp"};

int restarts() { return long_tests() ? 20 : 5; }

ClientOptions several_filters(const std::string& url) {
  ClientOptions options = client_options(url);
  options.filters = {"coilward/juniper/measure/#", "garden/+/clamp"};
  return options;
}

void expect_every_topic(Broker& broker, Subscriber& subscriber, const std::string& marker) {
  auto publisher = Publisher::connect(broker_config(broker.url()));
  ASSERT_TRUE(publisher) << publisher.error().what;
  for (const std::string& topic : kTopics) ASSERT_TRUE((*publisher)->publish(topic, marker));
  ASSERT_TRUE((*publisher)->flush());
  for (const std::string& topic : kTopics)
    EXPECT_TRUE(subscriber.receives(topic, marker)) << topic << " " << marker;
}

bool hears_again(Subscriber& subscriber, std::uint64_t connects_before) {
  return becomes_true([&] { return subscriber.status().connects > connects_before; }, 30s) &&
         subscriber.ready();
}

class Restart : public testing::TestWithParam<bool> {};
INSTANTIATE_TEST_SUITE_P(, Restart, testing::Bool(),
                         [](const auto& p) { return p.param ? "Persistent" : "Forgetful"; });

TEST_P(Restart, EveryTopicIsHeardAgain) {
  BrokerOptions options;
  options.persistence = GetParam();
  Broker broker(options);
  Subscriber subscriber(several_filters(broker.url()));
  ASSERT_TRUE(subscriber.start().ready());
  for (int i = 0; i < restarts(); ++i) {
    const auto connects = subscriber.status().connects;
    i % 2 == 0 ? broker.stop() : broker.kill();
    broker.start();
    ASSERT_TRUE(hears_again(subscriber, connects)) << "restart " << i;
    expect_every_topic(broker, subscriber, "after restart " + std::to_string(i));
  }
  std::cout << subscriber.status().connects - 1 << " reconnects, " << subscriber.received().size()
            << " messages\n";
}

TEST(StuckBroker, IsLeftAndFoundAgain) {
  Broker broker;
  Subscriber subscriber(several_filters(broker.url()));
  ASSERT_TRUE(subscriber.start().ready());
  const auto connects = subscriber.status().connects;
  broker.freeze();
  // Keepalive is 2 s here: the connection is given up, then a new attempt finds that nobody answers.
  EXPECT_TRUE(becomes_true([&] { return subscriber.status().trouble == Trouble::silent; }, 30s));
  broker.thaw();
  ASSERT_TRUE(hears_again(subscriber, connects));
  expect_every_topic(broker, subscriber, "after the freeze");
}

}  // namespace
}  // namespace coilward
