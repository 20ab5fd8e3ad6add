// The page of the real daemon opened to others, or refused to be; and secrets that are nowhere they should
// not be.
#include "tests/process/door_kit.h"

namespace coilward {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;
using testing::Not;

constexpr const char* kWrongPassword = "another planted phrase 5512";

TEST(OpenDoor, PlainHttpOnTheNetworkIsRefused) {
  DaemonProcess daemon(http_toml("port = 8470\naddress = \"0.0.0.0\"\n"));
  expect_refused_with(daemon, {":11: http.address", "in the clear", "behind_proxy = true"});
  for (const char* wrong : {"address = \"garden\"\n", "certificate = \"x.pem\"\n", "key = \"x.key\"\n"}) {
    daemon.write(http_toml(fmt::format("port = 8470\n{}", wrong)));
    expect_refused_with(daemon, {"http."});
  }
  daemon.write(http_toml("port = 8470\naddress = \"0.0.0.0\"\nbehind_proxy = true\n"));
  expect_refused_with(daemon, {":11: http.address", "in the clear"});
}

TEST(OpenDoor, WithoutAPasswordItIsRefused) {
  const Certificates files;
  DaemonProcess daemon(http_toml("port = 8470\naddress = \"0.0.0.0\"\n" + files.keys()));
  expect_refused_with(daemon, {":11: http.address", "nobody has a password yet", "coilward person add"});
  daemon.write(http_toml("port = 8470\nbehind_proxy = true\n"));
  expect_refused_with(daemon, {":11: http.behind_proxy", "nobody has a password yet"});
}

TEST(OpenDoor, AFileOfPeopleThatCannotBeReadIsNotNobody) {
  DaemonProcess daemon(http_toml("port = 8470\nbehind_proxy = true\n"));
  add_sam_on_files(daemon, http_toml("port = 8470\n"));
  std::ofstream(daemon.state() + "/people.json") << "{";
  daemon.write(http_toml("port = 8470\nbehind_proxy = true\n"));
  expect_refused_with(daemon, {"people.json"});
}

TEST(OpenDoor, ACertificateThatCannotBeUsedIsRefused) {
  const Certificates files;
  DaemonProcess daemon("");
  add_sam_on_files(daemon, http_toml("port = 8470\n"));
  daemon.write(http_toml("port = 8470\ncertificate = \"/nowhere.pem\"\nkey = \"/nowhere.key\"\n"));
  expect_refused_with(daemon, {":11: http.certificate", "/nowhere.pem"});
  make_certificate(files.directory / "other.pem", files.directory / "other.key", 8);
  fs::rename(files.directory / "other.key", files.key);
  daemon.write(http_toml("port = 8470\n" + files.keys()));
  expect_refused_with(daemon, {"http.certificate", "page.key"});
}

TEST(OpenDoor, WithAPersonAndACertificateItIsOpen) {
  const Certificates files;
  const int port = free_port();
  const std::string toml = http_toml(fmt::format("port = {}\naddress = \"0.0.0.0\"\n{}", port, files.keys()));
  DaemonProcess daemon("");
  add_sam_on_files(daemon, toml);
  daemon.start();
  ASSERT_TRUE(daemon.ready()) << daemon.log();
  const auto [status, said] = client(daemon, "person add Eve" + files_of(daemon), kPassword);
  EXPECT_EQ(status, 1) << "not behind the running daemon's back: " << said;
  Browser browser(fmt::format("https://localhost:{}", port));
  EXPECT_EQ(browser.get("/").status, 303);
  EXPECT_EQ(browser.get("/api/v1/zones").status, 401);
  EXPECT_EQ(browser.log_in("Sam", "not the pass phrase").status, 403);
  const PageAnswer in = browser.log_in("Sam", kPassword);
  EXPECT_EQ(in.status, 303) << in.body;
  EXPECT_TRUE(in.cookies.contains("__Host-coilward_session"));
  EXPECT_EQ(browser.get("/").status, 200);
  EXPECT_THAT(browser.get("/api/v1/health").body, HasSubstr("\"certificate\""));
  EXPECT_EQ(daemon.process().end(SIGTERM), 0);
  daemon.start();
  ASSERT_TRUE(daemon.ready(2)) << daemon.log();
  EXPECT_EQ(browser.get("/").status, 200) << "a session outlives a restart";
}

TEST(OpenDoor, AReloadThatWouldOpenItToEverybodyIsRefused) {
  const int port = free_port();
  DaemonProcess daemon(http_toml(fmt::format("port = {}\n", port)));
  daemon.start();
  ASSERT_TRUE(daemon.ready()) << daemon.log();
  daemon.write(http_toml(fmt::format("port = {}\nbehind_proxy = true\n", port)));
  daemon.process().signal(SIGHUP);
  EXPECT_TRUE(daemon.says("the old one stays in force")) << daemon.log();
  EXPECT_THAT(daemon.log(), HasSubstr("nobody has a password yet"));
  Browser browser(fmt::format("http://127.0.0.1:{}", port));
  EXPECT_EQ(browser.get("/").status, 200);
  ASSERT_EQ(
      client(daemon, fmt::format("person add Sam --socket {}/coilward.sock", daemon.run()), kPassword).first,
      0);
  EXPECT_EQ(browser.get("/").status, 303) << "from then on, at once";
  daemon.process().signal(SIGHUP);
  ASSERT_TRUE(daemon.ready(3)) << daemon.log();
  EXPECT_EQ(browser.log_in("Sam", kPassword).status, 303);
}

std::string everything_in(const std::string& directory, const std::string& but = "") {
  std::ostringstream text;
  for (const auto& entry : fs::recursive_directory_iterator(directory))
    if (entry.is_regular_file() && entry.path().filename() != but)
      text << entry.path() << "\n" << std::ifstream(entry.path(), std::ios::binary).rdbuf() << "\n";
  return text.str();
}

// A password, a wrong one (people type one at the wrong place), a session and a link.
TEST(Secrets, AreNowhereTheyNeedNotBe) {
  const int port = free_port();
  DaemonProcess daemon(http_toml(fmt::format("port = {}\n", port)));
  daemon.start({"--log-level", "debug"});
  ASSERT_TRUE(daemon.ready()) << daemon.log();
  const std::string socket = fmt::format(" --socket {}/coilward.sock", daemon.run());
  ASSERT_EQ(client(daemon, "person add Sam" + socket, kPassword).first, 0);
  Browser browser(fmt::format("http://127.0.0.1:{}", port));
  std::string shown = browser.log_in("Sam", kWrongPassword).body + browser.log_in(kWrongPassword, "x").head;
  ASSERT_EQ(browser.log_in("Sam", kPassword).status, 303);
  std::vector<std::string> secrets = {kPassword, kWrongPassword, browser.jar.at("coilward_session"),
                                      browser.jar.at("coilward_known")};
  const std::string with = browser.token("/share");
  const std::string page = browser.post("/share", "token=" + with + "&label=Bo&days=1").body,
                    before = "/link/";
  const auto at = page.find(before);
  ASSERT_NE(at, std::string::npos) << page;
  secrets.push_back(page.substr(at + before.size(), 43));
  for (const char* path : {"/", "/account", "/share", "/told", "/metrics", "/healthz", "/api/v1/site",
                           "/api/v1/session", "/api/v1/shares", "/api/v1/health", "/api/v1/people"})
    shown += browser.get(path).body;
  for (const char* verb : {"person list --json", "share list --json", "health --json"})
    shown += client(daemon, verb + socket).second;
  const std::string copy = daemon.log_file() + ".backup";
  ASSERT_EQ(client(daemon, "backup " + copy + socket).first, 0);
  EXPECT_EQ(daemon.process().end(SIGTERM), 0);
  EXPECT_FALSE(fs::exists(copy + "/people.json"));
  const std::string log = daemon.log(), kept = everything_in(daemon.state()), copied = everything_in(copy);
  EXPECT_THAT(log, HasSubstr("Sam logged in from 127.0.0.1"));
  EXPECT_THAT(kept, HasSubstr("$argon2id$"));
  EXPECT_THAT(everything_in(daemon.state(), "people.json") + copied + shown + log,
              Not(HasSubstr("$argon2id$")));
  for (const std::string& secret : secrets) {
    ASSERT_GE(secret.size(), 20u);
    for (const auto& [place, text] :
         {std::pair("log", &log), {"files", &kept}, {"backup", &copied}, {"answers", &shown}})
      EXPECT_EQ(text->find(secret), std::string::npos) << secret << " in the " << place;
  }
}

}  // namespace
}  // namespace coilward
