// The verbs through a socket, against the real server.
#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <thread>

#include "daemon/cli/run_coilward.h"
#include "daemon/login/login_test_kit.h"
#include "daemon/web/http_request.h"
#include "daemon/web/http_server.h"

namespace coilward {
namespace {

class SocketTest : public ::testing::Test {
 protected:
  void SetUp() override {
    site.findings_ = {web_test_finding()};
    std::vector<Reading> readings;
    for (int i = 0; i < 100'000; ++i)
      readings.push_back({{ChannelKind::zone_current, 4}, test_now() - Millis{1000LL * (100'000 - i)}, 0.23});
    site.keep(readings, {});
    auto started = HttpServer::start(core, api, {socket, std::nullopt, {}});
    ASSERT_TRUE(started) << started.error().what;
    server = std::move(*started);
    thread = std::thread([this] { core.run(); });
  }
  void TearDown() override {
    boost::asio::post(core, [this] { server->stop(); });
    work.reset();
    thread.join();
  }
  Ran ask(std::vector<std::string> args, const std::string& input = "") {
    args.insert(args.end(), {"--socket", socket});
    return run_coilward(std::move(args), input);
  }

  WebTestSite site;
  LoginTestKit kit;
  Api api{site, kit.logins.get()};
  boost::asio::io_context core;
  boost::asio::executor_work_guard<boost::asio::io_context::executor_type> work{core.get_executor()};
  const std::string socket = site.directory / "coilward.sock";
  std::unique_ptr<HttpServer> server;
  std::thread thread;
};

TEST_F(SocketTest, verbs_show_what_the_daemon_says) {
  const Ran zones = ask({"zones"});
  EXPECT_EQ(zones.status, 0) << zones.err;
  EXPECT_NE(zones.out.find("0.231 A (0.214 to 0.248)"), std::string::npos) << zones.out;
  EXPECT_EQ(ask({"zones", "--json"}).lines().size(), 2u);
  EXPECT_NE(ask({"findings"}).out.find("open_circuit"), std::string::npos);
  EXPECT_EQ(ask({"health"}).status, 0);
  const Ran place = ask({"locate", "20260504-061209-z4-open_circuit", "--json"});
  EXPECT_EQ(place.lines().at(0)["places"][0]["to"], "A");
  EXPECT_TRUE(place.err.empty()) << place.err;
}

TEST_F(SocketTest, a_health_that_is_not_sound_is_a_failure_and_still_shown) {
  site.stages = {{"history", false, "disk full", kNever}};
  const Ran ran = ask({"health", "--json"});
  EXPECT_EQ(ran.status, 1);
  EXPECT_EQ(ran.lines().at(0)["stages"][0]["why"], "disk full");
}

TEST_F(SocketTest, long_answers_come_whole) {
  EXPECT_EQ(ask({"export", "--json"}).lines().size(), 100'000u);
  // 100,000 s are 27.8 hours from the first reading on.
  EXPECT_EQ(ask({"history", "--zone", "4", "--every", "1h", "--json"}).lines().size(), 28u);
}

TEST_F(SocketTest, errors_of_the_daemon_have_their_status) {
  EXPECT_EQ(ask({"history", "--since", "whenever"}).status, 2);
  EXPECT_EQ(ask({"locate", "no-such/finding?x"}).status, 1);
  EXPECT_EQ(ask({"backup", "somewhere"}).status, 1);
  EXPECT_EQ(ask({"pause", "--for", "soon"}).status, 2);
}

TEST_F(SocketTest, a_test_reading_is_kept_by_the_daemon) {
  const std::string id = "20260504-061209-z4-open_circuit";
  EXPECT_EQ(ask({"test-reading", id, "--at", "A", "--volts-on", "26.1"}).status, 0);
  EXPECT_EQ(ask({"test-reading", id, "--at", "A", "--ohms", "OL", "--toward", "valve"}).status, 0);
  EXPECT_EQ(site.kept_rows.size(), 2u);
  EXPECT_EQ(ask({"test-reading", id, "--at", "Q", "--volts-on", "26.1"}).status, 2);
  EXPECT_NE(ask({"locate", id}).out.find("no path toward the valve"), std::string::npos);
}

TEST_F(SocketTest, acting_reaches_the_daemon) {
  EXPECT_EQ(ask({"pause", "--for", "2h", "--zone", "4"}).status, 0);
  EXPECT_EQ(site.paused_zone, 4);
  EXPECT_EQ(ask({"repaired", "main"}).status, 0);
  EXPECT_EQ(std::get<std::string>(*site.repaired_target), "main");
}

TEST_F(SocketTest, people_and_links_are_the_daemons_to_keep) {
  EXPECT_NE(ask({"person", "list"}).out.find("/set-up with the code"), std::string::npos);
  EXPECT_EQ(ask({"person", "add", "Sam / Co"}, kSamsPassword).status, 2);
  EXPECT_EQ(ask({"person", "add", "Sam & Co"}, kSamsPassword).status, 0);
  EXPECT_NE(ask({"person", "list"}).out.find("Sam & Co  technician"), std::string::npos);
  EXPECT_EQ(ask({"person", "password", "sam & co"}, kAnnsPassword).status, 0);
  EXPECT_EQ(ask({"person", "remove", "Eve"}).status, 1);
  EXPECT_EQ(ask({"share", "add", "Bo"}).status, 0);
  const Json shares = ask({"share", "list", "--json"}).lines().at(0)["shares"];
  ASSERT_EQ(shares.size(), 1u);
  EXPECT_EQ(ask({"share", "end", shares[0]["id"]}).status, 0);
  EXPECT_EQ(ask({"share", "list", "--json"}).lines().at(0)["shares"].size(), 0u);
}

TEST(RequestTarget, is_percent_encoded) {
  EXPECT_EQ(request_target({"GET", "/api/v1/findings/a?b c", {{"since", "2026-05-04T00:00:00+02:00"}}, ""}),
            "/api/v1/findings/a%3Fb%20c?since=2026-05-04T00%3A00%3A00%2B02%3A00");
}

}  // namespace
}  // namespace coilward
