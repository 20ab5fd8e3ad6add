// What is wrong is said, with the right exit status, and nothing is started half-way.
#include <fmt/format.h>
#include <sys/stat.h>

#include <nlohmann/json.hpp>

#include "tests/process/daemon_process.h"

namespace coilward {
namespace {

namespace fs = std::filesystem;

void expect_refused(DaemonProcess& daemon, const std::string& says) {
  daemon.start();
  EXPECT_EQ(daemon.ends(), 78);
  EXPECT_NE(daemon.log().find(says), std::string::npos) << daemon.log();
  EXPECT_EQ(daemon.told.count("READY=1"), 0);
  EXPECT_FALSE(fs::exists(daemon.state()) && !fs::is_empty(daemon.state())) << "it left something behind";
  EXPECT_FALSE(fs::exists(daemon.run() + "/coilward.sock"));
}

TEST(Start, AWrongConfigurationIsRefused) {
  DaemonProcess daemon(site_toml(nobody(), "valvs = 2\n"));
  expect_refused(daemon, daemon.config() + ":9: zone.valvs: unknown key; did you mean 'valves'?");
}

TEST(Start, AMissingFileIsAWrongConfiguration) {
  DaemonProcess daemon("");
  fs::remove(daemon.config());
  expect_refused(daemon, daemon.config());
}

TEST(Start, AWrongKeyOfAPluginIsRefused) {
  DaemonProcess daemon(
      site_toml(nobody(), "[[notifier]]\nname = \"n\"\nplugin = \"command\"\nrnu = [\"/bin/true\"]\n"));
  expect_refused(daemon, "did you mean run?");
  EXPECT_NE(daemon.log().find(daemon.config() + ":9"), std::string::npos) << daemon.log();
}

TEST(Start, APluginThatIsNotThereIsRefused) {
  DaemonProcess daemon(site_toml(nobody(), "[[notifier]]\nname = \"n\"\nplugin = \"pigeon\"\n"));
  expect_refused(daemon, "pigeon");
}

TEST(Start, ACheckSaysGoodAndStartsNothing) {
  DaemonProcess daemon(site_toml(nobody()));
  daemon.start({"--check-config"});
  EXPECT_EQ(daemon.ends(), 0);
  EXPECT_FALSE(fs::exists(daemon.state()));
}

TEST(Start, WrongUsageIs2) {
  DaemonProcess daemon(site_toml(nobody()));
  daemon.start({"--sttae", "x"});
  EXPECT_EQ(daemon.ends(), 2);
}

TEST(Start, TwoDaemonsDoNotShareAState) {
  DaemonProcess daemon(site_toml(nobody()));
  daemon.start();
  ASSERT_TRUE(daemon.ready()) << daemon.log();
  const std::string log = daemon.log_file() + ".second";
  EXPECT_EQ(run_to_end({COILWARD_BINARY_DIR "/bin/coilwardd", daemon.config(), "--state", daemon.state(),
                        "--run", daemon.run() + "2"},
                       log),
            1);
  EXPECT_TRUE(daemon.process().running());
}

TEST(Start, TheJournalGetsPriorities) {
  DaemonProcess daemon(site_toml(nobody()));
  std::ofstream(daemon.log_file()) << "";
  struct stat found {};
  ASSERT_EQ(::stat(daemon.log_file().c_str(), &found), 0);
  daemon.start({}, {fmt::format("JOURNAL_STREAM={}:{}", found.st_dev, found.st_ino)});
  ASSERT_TRUE(daemon.ready()) << daemon.log();
  EXPECT_EQ(daemon.process().end(SIGTERM), 0);
  std::istringstream lines(daemon.log());
  int seen = 0;
  for (std::string line; std::getline(lines, line); ++seen)
    EXPECT_TRUE(line.size() > 3 && line[0] == '<' && line[2] == '>') << line;
  EXPECT_GT(seen, 0);
}

TEST(Start, JsonLinesAreObjects) {
  DaemonProcess daemon(site_toml(nobody()));
  daemon.start({"--log-format", "json"});
  ASSERT_TRUE(daemon.ready()) << daemon.log();
  EXPECT_EQ(daemon.process().end(SIGTERM), 0);
  std::istringstream lines(daemon.log());
  for (std::string line; std::getline(lines, line);)
    EXPECT_TRUE(nlohmann::json::parse(line, nullptr, false).is_object()) << line;
}

}  // namespace
}  // namespace coilward
