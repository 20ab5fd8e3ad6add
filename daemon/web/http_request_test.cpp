#include "daemon/web/http_request.h"

#include <gtest/gtest.h>

namespace coilward {
namespace {

TEST(HttpRequest, path_and_query_are_taken_apart) {
  const auto request = request_of({"GET", "/api/v1/findings/a%2Fb?since=7d&x=%C3%BC+1&flag", "", false});
  ASSERT_TRUE(request);
  EXPECT_EQ(request->path, "/api/v1/findings/a/b");
  EXPECT_EQ(request->query.at("since"), "7d");
  EXPECT_EQ(request->query.at("x"), "ü 1");
  EXPECT_EQ(request->query.at("flag"), "");
  for (const char* wrong : {"", "*", "http://evil/", "/%", "/?a=%zz", "/?a=1&a=2"})
    EXPECT_FALSE(request_of({"GET", wrong, "", false})) << wrong;
}

TEST(HttpRequest, only_loopback_names_are_ours) {
  for (const char* ours : {"localhost", "LOCALHOST:8080", "127.0.0.1", "127.0.0.1:1", "[::1]", "[::1]:8080"})
    EXPECT_TRUE(is_loopback_name(ours)) << ours;
  for (const char* foreign :
       {"", "evil.example", "localhost.evil.example", "127.0.0.1.evil.example", "127.0.0.2",
        "localhost:", "localhost:x", "[::1", "::1", "[::2]", "localhost:80@evil"})
    EXPECT_FALSE(is_loopback_name(foreign)) << foreign;
}

TEST(HttpRequest, over_tcp_only_under_a_loopback_name) {
  EXPECT_FALSE(refused({"GET", "/", "localhost:80", true}));
  EXPECT_FALSE(refused({"HEAD", "/", "[::1]:80", true}));
  EXPECT_EQ(refused({"DELETE", "/pause", "localhost", true, "http://localhost", "same-origin"})->status, 403);
  EXPECT_EQ(refused({"GET", "/", "evil.example", true})->status, 403);
  EXPECT_EQ(refused({"GET", "/", "", true})->status, 403);
  EXPECT_FALSE(refused({"POST", "/api/v1/pause", "anything", false}));
}

TEST(HttpRequest, opened_to_the_network_it_has_other_names_too) {
  EXPECT_FALSE(refused({"GET", "/", "garden.example:8443", true, "", "", true}));
  EXPECT_TRUE(refused({"GET", "/", "", true, "", "", true}));
  EXPECT_FALSE(refused({"POST", "/pause", "garden.example", true, "https://garden.example", "", true}));
  EXPECT_TRUE(refused({"POST", "/pause", "garden.example", true, "https://evil.example", "", true}));
}

TEST(HttpRequest, a_program_posts_to_the_api_alone) {
  EXPECT_FALSE(refused({"POST", "/api/v1/pause", "localhost", true})) << "its token is asked for later";
  EXPECT_TRUE(refused({"POST", "/login", "localhost", true}));
  EXPECT_TRUE(refused({"POST", "/api/v1/pause", "localhost", true, "http://evil.example", ""}));
  EXPECT_TRUE(refused({"POST", "/api/v1/pause", "localhost", true, "", "cross-site"}));
}

TEST(HttpRequest, of_a_forwarded_address_the_last_counts) {
  EXPECT_EQ(forwarded_address("198.51.100.7"), "198.51.100.7");
  EXPECT_EQ(forwarded_address("127.0.0.1, 198.51.100.7 "), "198.51.100.7");
  EXPECT_EQ(forwarded_address("198.51.100.7:4711"), "198.51.100.7");
  EXPECT_EQ(forwarded_address("[2001:db8::1]:4711"), "2001:db8::1");
  EXPECT_EQ(forwarded_address("2001:db8::1"), "2001:db8::1");
  for (const char* none : {"", "198.51.100.7,", "unknown", "<script>", "[", "1, _hidden"})
    EXPECT_EQ(forwarded_address(none), "") << none;
}

TEST(HttpRequest, a_form_over_tcp_comes_from_our_own_page) {
  EXPECT_FALSE(refused({"POST", "/pause", "localhost:80", true, "http://localhost:80", "same-origin"}));
  EXPECT_FALSE(refused({"POST", "/pause", "localhost:80", true, "http://localhost:80", ""}));
  EXPECT_FALSE(refused({"POST", "/pause", "localhost:80", true, "", "same-origin"}));
  EXPECT_TRUE(refused({"POST", "/pause", "localhost:80", true, "", ""}));
  EXPECT_TRUE(refused({"POST", "/pause", "localhost:80", true, "null", ""}));
  EXPECT_TRUE(refused({"POST", "/pause", "localhost:80", true, "http://localhost:81", ""}));
  EXPECT_TRUE(refused({"POST", "/pause", "localhost:80", true, "http://evil.example", "same-origin"}));
  EXPECT_TRUE(refused({"POST", "/pause", "localhost:80", true, "http://localhost:80", "same-site"}));
  EXPECT_TRUE(refused({"POST", "/pause", "localhost:80", true, "http://localhost:80", "cross-site"}));
  EXPECT_TRUE(refused({"POST", "/pause", "evil.example", true, "http://evil.example", "same-origin"}));
}

}  // namespace
}  // namespace coilward
