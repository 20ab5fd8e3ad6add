// The page of the real daemon over TLS: what a browser gets, certificates that change meanwhile, who is
// believed, and those who hold it up.
#include <arpa/inet.h>
#include <ifaddrs.h>
#include <netinet/in.h>

#include "tests/process/door_kit.h"

namespace coilward {
namespace {

namespace fs = std::filesystem;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;
using testing::StartsWith;

class TlsDoor : public testing::Test {
 protected:
  void open(const std::string& more = "") {
    add_sam_on_files(
        daemon, http_toml(fmt::format("port = {}\naddress = \"0.0.0.0\"\n{}{}", port, files.keys(), more)));
    daemon.start();
    ASSERT_TRUE(daemon.ready()) << daemon.log();
  }
  std::string health() {
    return client(daemon, fmt::format("health --socket {}/coilward.sock", daemon.run())).second;
  }

  const Certificates files;
  const int port = free_port();
  DaemonProcess daemon{""};
  Browser browser{fmt::format("https://localhost:{}", port)};
};

TEST_F(TlsDoor, ASessionItsFormsAndWhatIsLiveGoThroughIt) {
  open();
  EXPECT_EQ(browser.get("/").status, 303);
  EXPECT_EQ(browser.get("/events").status, 401);
  const PageAnswer in = browser.log_in("Sam", kPassword);
  EXPECT_EQ(in.status, 303) << in.body;
  EXPECT_THAT(in.head, AllOf(HasSubstr("Set-Cookie: __Host-coilward_session="), HasSubstr("; Secure")));
  EXPECT_EQ(browser.get("/").status, 200);
  EXPECT_EQ(browser.post("/pause", "for=2h&token=" + browser.token("/")).status, 303);
  EXPECT_THAT(browser.listen("/events", "event: version").body, HasSubstr("event: version"));
  Browser elsewhere(fmt::format("https://127.0.0.1:{}", port));
  elsewhere.jar = browser.jar;
  EXPECT_EQ(elsewhere.get("/").status, 200);
  elsewhere.fields = {"Sec-Fetch-Site: cross-site"};
  EXPECT_EQ(elsewhere.post("/pause", "for=2h&token=" + browser.token("/")).status, 403);
}

TEST_F(TlsDoor, WhoAsksWithoutTlsIsSentThereAndToldNothing) {
  open();
  Browser plain(fmt::format("http://localhost:{}", port));
  const PageAnswer sent = plain.get("/zone/1?since=7d");
  EXPECT_EQ(sent.status, 308);
  EXPECT_THAT(sent.head, AllOf(HasSubstr(fmt::format("Location: https://localhost:{}/zone/1?since=7d", port)),
                               Not(HasSubstr("Set-Cookie"))));
  const PageAnswer refused = plain.post("/login", "name=Sam&password=x");
  EXPECT_EQ(refused.status, 400);
  EXPECT_THAT(refused.body, HasSubstr("https://"));
}

TEST_F(TlsDoor, ARenewedCertificateIsTakenAndOneThatDoesNotFitIsNot) {
  open();
  ASSERT_EQ(browser.log_in("Sam", kPassword).status, 303);
  EXPECT_EQ(browser.get("/").serial, "07");
  make_certificate(files.certificate, files.key, 8);
  EXPECT_TRUE(becomes_true([&] { return browser.get("/").serial == "08"; })) << daemon.log();
  EXPECT_THAT(health(), HasSubstr("certificate"));
  EXPECT_EQ(browser.get("/").status, 200) << "nobody has to log in again";
  make_certificate(files.directory / "other.pem", files.directory / "other.key", 9);
  fs::copy_file(files.directory / "other.key", files.key, fs::copy_options::overwrite_existing);
  EXPECT_TRUE(becomes_true([&] { return health().find("page.key") != std::string::npos; })) << health();
  EXPECT_EQ(browser.get("/").serial, "08");
  fs::rename(files.directory / "other.pem", files.certificate);
  EXPECT_TRUE(becomes_true([&] { return browser.get("/").serial == "09"; })) << daemon.log();
  EXPECT_THAT(health(), Not(HasSubstr("page.key")));
}

TEST_F(TlsDoor, AReloadWithAKeyThatDoesNotFitIsRefused) {
  open();
  make_certificate(files.directory / "other.pem", files.directory / "other.key", 9);
  daemon.write(http_toml(fmt::format("port = {}\naddress = \"0.0.0.0\"\ncertificate = \"{}\"\nkey = \"{}\"\n",
                                     port, files.certificate, files.directory / "other.key")));
  daemon.process().signal(SIGHUP);
  EXPECT_TRUE(daemon.says("the old one stays in force")) << daemon.log();
  EXPECT_THAT(daemon.log(), HasSubstr(":12: http.certificate"));
  EXPECT_EQ(browser.get("/login").serial, "07");
}

// An address of this machine that is not loopback; empty: it has none.
std::string address_beyond_loopback() {
  ifaddrs* first = nullptr;
  if (::getifaddrs(&first) != 0) return {};
  std::string found;
  for (const ifaddrs* at = first; at && found.empty(); at = at->ifa_next) {
    if (!at->ifa_addr || at->ifa_addr->sa_family != AF_INET) continue;
    char text[INET_ADDRSTRLEN] = {};
    const auto& address = reinterpret_cast<const sockaddr_in*>(at->ifa_addr)->sin_addr;
    ::inet_ntop(AF_INET, &address, text, sizeof text);
    if (!std::string(text).starts_with("127.")) found = text;
  }
  ::freeifaddrs(first);
  return found;
}

TEST_F(TlsDoor, AProxyIsBelievedOnLoopbackAlone) {
  const std::string own = address_beyond_loopback();
  if (own.empty()) GTEST_SKIP() << "this machine has no address but loopback";
  open("behind_proxy = true\n");
  const auto log_in = [&](const std::string& host) {
    Browser proxy(fmt::format("https://{}:{}", host, port));
    proxy.fields = {"X-Forwarded-For: 198.51.100.4, 203.0.113.9", "X-Forwarded-Proto: https"};
    EXPECT_EQ(proxy.log_in("Sam", kPassword).status, 303) << host;
  };
  log_in("127.0.0.1");
  EXPECT_TRUE(daemon.says("Sam logged in from 203.0.113.9")) << daemon.log();
  log_in(own);
  EXPECT_TRUE(daemon.says("Sam logged in from " + own)) << daemon.log();
}

TEST_F(TlsDoor, WhoGuessesWaits) {
  open();
  PageAnswer last;
  for (int i = 0; i < 6; ++i) last = browser.log_in("Sam", fmt::format("guess number {}", i));
  EXPECT_EQ(last.status, 429);
  EXPECT_THAT(last.head, HasSubstr("Retry-After: "));
}

// Connections that say what they are told and then nothing.
class Silent {
 public:
  Silent(int port, std::string_view words) : socket_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
    sockaddr_in to{AF_INET, htons(static_cast<std::uint16_t>(port)), {htonl(INADDR_LOOPBACK)}, {}};
    EXPECT_EQ(::connect(socket_, reinterpret_cast<sockaddr*>(&to), sizeof to), 0);
    (void)!::send(socket_, words.data(), words.size(), MSG_NOSIGNAL);
  }
  Silent(Silent&& other) noexcept : socket_(std::exchange(other.socket_, -1)) {}
  ~Silent() {
    if (socket_ >= 0) ::close(socket_);
  }

 private:
  int socket_;
};

std::ptrdiff_t descriptors_of(DaemonProcess& daemon) {
  return std::distance(fs::directory_iterator(fmt::format("/proc/{}/fd", daemon.process().pid())), {});
}

// Nothing at all, half a greeting, and plain HTTP that never ends.
TEST_F(TlsDoor, FiveHundredThatNeverFinishKeepNobodyOutAndLeaveNothing) {
  open();
  ASSERT_EQ(browser.log_in("Sam", kPassword).status, 303);
  const auto before = descriptors_of(daemon);
  {
    std::vector<Silent> silent;
    for (int i = 0; i < 500; ++i)
      silent.emplace_back(port, std::array<std::string_view, 3>{
                                    "", std::string_view("\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03", 11),
                                    "GET / HTTP/1.1\r\nHost: "}[static_cast<std::size_t>(i % 3)]);
    const auto begin = std::chrono::steady_clock::now();
    EXPECT_EQ(browser.get("/").status, 200);
    EXPECT_LT(std::chrono::steady_clock::now() - begin, std::chrono::seconds{1});
    EXPECT_LE(descriptors_of(daemon), before + 64);
  }
  EXPECT_TRUE(becomes_true([&] { return descriptors_of(daemon) <= before; })) << descriptors_of(daemon);
}

}  // namespace
}  // namespace coilward
