// Each way of not being connected: what is said, and that stopping takes no time in any of them.
#include "daemon/mqtt/trouble.h"

#include <gtest/gtest.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

#include "daemon/mqtt/client_fixture.h"

namespace coilward {
namespace {

using namespace std::chrono_literals;

std::chrono::milliseconds time_to_stop(Client& client) {
  const auto start = std::chrono::steady_clock::now();
  client.stop();
  return std::chrono::duration_cast<std::chrono::milliseconds>(std::chrono::steady_clock::now() - start);
}

void expect_trouble(ClientOptions options, Trouble trouble, const std::string& words) {
  Subscriber subscriber(std::move(options));
  subscriber.start();
  EXPECT_TRUE(subscriber.troubled_by(trouble)) << trouble_name(subscriber.status().trouble);
  EXPECT_NE(subscriber.status().detail.find(words), std::string::npos) << subscriber.status().detail;
  EXPECT_LT(time_to_stop(subscriber.client()), 2500ms);
}

TEST(Trouble, NothingListens) {
  expect_trouble(client_options("mqtt://127.0.0.1:" + std::to_string(free_port())), Trouble::refused,
                 "refused");
}

TEST(Trouble, ANameThatDoesNotExist) {
  expect_trouble(client_options("mqtt://broker.invalid"), Trouble::unknown_name, "broker.invalid");
}

TEST(Trouble, SomethingElseListens) {
  Broker broker;
  broker.freeze();
  expect_trouble(client_options(broker.url()), Trouble::silent, "does not answer");
}

class BadLogin : public testing::TestWithParam<int> {};
INSTANTIATE_TEST_SUITE_P(, BadLogin, testing::Values(4, 5));

TEST_P(BadLogin, IsSaidAndTriedAgain) {
  BrokerOptions with_password;
  with_password.passwords = {{"site", "right"}};
  Broker broker(with_password);
  ClientOptions options = client_options(broker.url(), GetParam());
  expect_trouble(options, Trouble::bad_login, "password");
  options.mqtt.username = "site";
  options.mqtt.password_file = broker.secret_file("password", "wrong\n");
  Subscriber subscriber(options);
  subscriber.start();
  ASSERT_TRUE(subscriber.troubled_by(Trouble::bad_login));
  broker.secret_file("password", "right\n");  // put right while running
  EXPECT_TRUE(subscriber.ready());
}

TEST(Trouble, AFileThatEveryoneCanRead) {
  Broker broker;
  ClientOptions options = client_options(broker.url());
  options.mqtt.username = "site";
  options.mqtt.password_file = broker.secret_file("password", "secret");
  ::chmod(options.mqtt.password_file.c_str(), 0644);
  expect_trouble(options, Trouble::bad_file, "chmod o-r");
  options.mqtt.password_file = broker.directory() + "/none";
  expect_trouble(options, Trouble::bad_file, "/none");
}

TEST(Trouble, TlsWithAPrivateAuthority) {
  BrokerOptions with_tls;
  with_tls.tls = true;
  Broker broker(with_tls);
  ClientOptions options = client_options(broker.url());
  expect_trouble(options, Trouble::tls, "certificate");  // an authority that nobody told us of
  options.mqtt.ca_file = broker.ca_file();
  Subscriber subscriber(options);
  ASSERT_TRUE(subscriber.start().ready());
  MqttConfig config = options.mqtt;
  config.client_id.clear();
  publish_once(config, "coilward/juniper/measure/zone/1/current", "0.231");
  EXPECT_TRUE(subscriber.receives("coilward/juniper/measure/zone/1/current", "0.231"));
  EXPECT_LT(time_to_stop(subscriber.client()), 2500ms);
}

TEST(Trouble, TlsWithAnotherName) {
  BrokerOptions with_tls;
  with_tls.tls = true;
  Broker broker(with_tls);
  ClientOptions options = client_options("mqtts://127.0.0.1:" + std::to_string(broker.port()));
  options.mqtt.ca_file = broker.ca_file();
  expect_trouble(options, Trouble::tls, "127.0.0.1");  // the certificate is for localhost
}

TEST(Trouble, TlsToAPortThatSpeaksNone) {
  Broker broker;
  expect_trouble(client_options("mqtts://127.0.0.1:" + std::to_string(broker.port())), Trouble::tls, "TLS");
}

// ---- stopping in each state

TEST(Stop, BeforeStart) {
  Subscriber subscriber(client_options("mqtt://127.0.0.1:1"));
  EXPECT_LT(time_to_stop(subscriber.client()), 500ms);
}

TEST(Stop, RightAfterStart) {
  Broker broker;
  Subscriber subscriber(client_options(broker.url()));
  subscriber.start();
  EXPECT_LT(time_to_stop(subscriber.client()), 2500ms);
}

TEST(Stop, WhileConnected) {
  Broker broker;
  Subscriber subscriber(client_options(broker.url()));
  ASSERT_TRUE(subscriber.start().ready());
  EXPECT_LT(time_to_stop(subscriber.client()), 2500ms);
  EXPECT_EQ(subscriber.status().link, Link::stopped);
}

TEST(Stop, WhileConnectedToABrokerThatIsStuck) {
  Broker broker;
  Subscriber subscriber(client_options(broker.url()));
  ASSERT_TRUE(subscriber.start().ready());
  broker.freeze();
  EXPECT_LT(time_to_stop(subscriber.client()), 2500ms);
}

TEST(Stop, WhileConnectingToABrokerThatIsStuck) {
  Broker broker;
  broker.freeze();
  ClientOptions options = client_options(broker.url());
  options.connect_timeout = 5s;
  Subscriber subscriber(options);
  subscriber.start();
  ASSERT_TRUE(becomes_true([&] { return subscriber.status().link == Link::connecting; }));
  EXPECT_LT(time_to_stop(subscriber.client()), 2500ms);
}

// A listener whose queue is full: the kernel drops further connection requests, as a dead address does.
class DeadAddress {
 public:
  DeadAddress() {
    port_ = free_port();
    listener_ = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    address_ = loopback_address(port_);
    ::bind(listener_, reinterpret_cast<const sockaddr*>(&address_), sizeof address_);
    ::listen(listener_, 0);
    for (int& file : waiting_) {
      file = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
      ::connect(file, reinterpret_cast<const sockaddr*>(&address_), sizeof address_);
    }
  }
  ~DeadAddress() {
    ::close(listener_);
    for (const int file : waiting_) ::close(file);
  }
  std::string url() const { return "mqtt://127.0.0.1:" + std::to_string(port_); }

 private:
  int port_;
  int listener_;
  sockaddr_in address_;
  int waiting_[4];
};

TEST(Stop, WhileConnectingToADeadAddress) {
  DeadAddress dead;
  Subscriber subscriber(client_options(dead.url()));
  subscriber.start();
  ASSERT_TRUE(becomes_true([&] { return subscriber.status().link == Link::connecting; }));
  EXPECT_LT(time_to_stop(subscriber.client()), 2500ms);
}

TEST(Trouble, ADeadAddress) {
  DeadAddress dead;
  expect_trouble(client_options(dead.url()), Trouble::unreachable, "no answer");
}

}  // namespace
}  // namespace coilward
