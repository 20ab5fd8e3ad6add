// The login of the real daemon: secrets are nowhere they need not be.
#include <fmt/format.h>
#include <gmock/gmock.h>

#include "tests/process/ask_page.h"
#include "tests/process/daemon_process.h"
#include "tests/support/broker.h"

namespace coilward {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;
using testing::Not;

constexpr const char* kPassword = "a planted pass phrase 7391";
constexpr const char* kWrongPassword = "another planted phrase 5512";

std::string http_toml(const std::string& keys) { return site_toml(nobody(), "[http]\n" + keys); }

// `coilward` with a line on its standard input; what it printed.
std::pair<int, std::string> client(const DaemonProcess& daemon, const std::string& words,
                                   const std::string& line = "") {
  const std::string out = daemon.log_file() + ".client";
  const int status =
      run_to_end({"/bin/sh", "-c",
                  "printf '%s\\n' \"$1\" | exec " COILWARD_BINARY_DIR "/bin/coilward " + words, "sh", line},
                 out);
  std::ostringstream text;
  text << std::ifstream(out).rdbuf();
  return {status, text.str()};
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
