// A bad network between the client and a broker that is well.
#include <gtest/gtest.h>

#include <iostream>
#include <map>

#include "daemon/mqtt/client_fixture.h"
#include "tests/support/tcp_proxy.h"

namespace coilward {
namespace {

using namespace std::chrono_literals;
constexpr const char* kCurrent = "coilward/juniper/measure/zone/1/current";

class FaultyLink : public testing::Test {
 protected:
  std::string through_proxy() const { return "mqtt://127.0.0.1:" + std::to_string(proxy_.port()); }
  void publish(int from, int to) {
    auto publisher = Publisher::connect(broker_config(broker_.url()));
    ASSERT_TRUE(publisher) << publisher.error().what;
    for (int number = from; number <= to; ++number)
      ASSERT_TRUE((*publisher)->publish(kCurrent, std::to_string(number)));
    ASSERT_TRUE((*publisher)->flush());
  }
  bool hears(int number) { return subscriber_.receives(kCurrent, std::to_string(number)); }
  bool connects_again(std::uint64_t before) {
    return becomes_true([&] { return subscriber_.status().connects > before; }, 30s) && subscriber_.ready();
  }
  // Of each number: how many copies came, and how many of them carry the DUP flag.
  std::map<int, std::pair<int, int>> copies() {
    std::map<int, std::pair<int, int>> found;
    for (const Received& r : subscriber_.received()) {
      auto& [all, marked] = found[std::stoi(r.payload)];
      ++all;
      marked += r.duplicate ? 1 : 0;
    }
    return found;
  }

  Broker broker_{BrokerOptions{.extra = "max_queued_messages 0\n"}};
  TcpProxy proxy_{broker_.port()};
  Subscriber subscriber_{client_options(through_proxy())};
};

TEST_F(FaultyLink, CutAgainAndAgainEveryMessageIsHeard) {
  ASSERT_TRUE(subscriber_.start().ready());
  const int cuts = long_tests() ? 50 : 4;
  for (int i = 0; i < cuts; ++i) {
    const auto connects = subscriber_.status().connects;
    publish(100 * i + 1, 100 * i + 50);
    proxy_.cut();
    publish(100 * i + 51, 100 * i + 100);
    ASSERT_TRUE(connects_again(connects)) << "cut " << i;
  }
  ASSERT_TRUE(hears(100 * cuts));
  ASSERT_TRUE(becomes_true([&] { return copies().size() == static_cast<std::size_t>(100 * cuts); }))
      << copies().size();
  int again = 0, unmarked = 0;
  for (const auto& [number, count] : copies()) {
    again += count.first - 1;
    if (count.first - 1 > count.second) ++unmarked;
  }
  EXPECT_EQ(unmarked, 0) << "a second copy carries the DUP flag";
  std::cout << cuts << " cuts, " << 100 * cuts << " messages, none lost, " << again << " delivered again\n";
}

// A link that breaks right after each connect looks like a client with the same id, but for what else broke.
TEST_F(FaultyLink, CutRightAfterEachConnectIsNotTakenForAnotherClient) {
  ASSERT_TRUE(subscriber_.start().ready());
  for (int i = 0; i < 8; ++i) {
    const auto connects = subscriber_.status().connects;
    proxy_.cut();
    ASSERT_TRUE(connects_again(connects)) << "cut " << i;
    EXPECT_FALSE(subscriber_.status().id_contested) << "after " << i + 1 << " cuts";
  }
}

// The other one comes by another way, so that the proxy's link stands all the time.
TEST_F(FaultyLink, AnotherClientIsStillSeenThroughIt) {
  ASSERT_TRUE(subscriber_.start().ready());
  const auto other = impostor(broker_, client_options(broker_.url()).mqtt.client_id);
  EXPECT_TRUE(becomes_true([&] { return subscriber_.status().id_contested; }, 60s));
}

TEST_F(FaultyLink, WithoutItsAcknowledgementsEachMessageComesAgainMarked) {
  ASSERT_TRUE(subscriber_.start().ready());
  const auto connects = subscriber_.status().connects;
  proxy_.lose_requests(true);
  publish(1, 10);  // within what a broker has under way at once
  ASSERT_TRUE(hears(10));
  ASSERT_TRUE(becomes_true([&] { return proxy_.lost_bytes() >= 40; }));  // ten PUBACKs of four bytes
  proxy_.lose_requests(false);
  proxy_.cut();
  ASSERT_TRUE(connects_again(connects));
  ASSERT_TRUE(becomes_true([&] { return copies()[10].first == 2; }));
  for (const auto& [number, count] : copies()) EXPECT_EQ(count, (std::pair{2, 1})) << number;
}

TEST_F(FaultyLink, ThatStallsIsLeftAndFoundAgain) {
  ASSERT_TRUE(subscriber_.start().ready());
  const auto connects = subscriber_.status().connects;
  proxy_.stall(true);
  publish(1, 20);
  // Keepalive is 2 s here.
  EXPECT_TRUE(becomes_true([&] { return !subscriber_.status().subscribed; }, 30s));
  proxy_.stall(false);
  ASSERT_TRUE(connects_again(connects));
  EXPECT_TRUE(hears(20));
  EXPECT_EQ(copies().size(), 20u);
}

TEST_F(FaultyLink, ThatIsSlowLosesNothing) {
  proxy_.slow_down(20'000);  // a bad modem
  ASSERT_TRUE(subscriber_.start().ready());
  publish(1, 500);
  EXPECT_TRUE(hears(500));
  EXPECT_EQ(copies().size(), 500u);
  EXPECT_EQ(subscriber_.status().connects, 1u);
}

TEST_F(FaultyLink, ThatEndsOneWayIsLeft) {
  ASSERT_TRUE(subscriber_.start().ready());
  const auto connects = subscriber_.status().connects;
  proxy_.half_close();
  ASSERT_TRUE(connects_again(connects));
  publish(1, 1);
  EXPECT_TRUE(hears(1));
}

}  // namespace
}  // namespace coilward
