// Help, usage errors and wrong configurations, as exit statuses.
#include "daemon/cli/run_coilward.h"

namespace coilward {
namespace {

const std::vector<std::string> kVerbs = {
    "check-config", "zones",      "findings",     "history",    "runs",    "replay", "locate",
    "simulate",     "export",     "test-reading", "backup",     "restore", "health", "repaired",
    "pause",        "test-alert", "acknowledge",  "commission", "person",  "share",  "organisation"};

TEST(Usage, every_verb_has_help) {
  for (const std::string& verb : kVerbs) {
    const Ran ran = run_coilward({verb, "--help"});
    EXPECT_EQ(ran.status, 0) << verb;
    EXPECT_NE(ran.out.find("--help"), std::string::npos) << verb;
    EXPECT_TRUE(ran.err.empty()) << verb << ran.err;
  }
  const Ran all = run_coilward({"--help"});
  EXPECT_EQ(all.status, 0);
  for (const std::string& verb : kVerbs) EXPECT_NE(all.out.find(verb), std::string::npos) << verb;
  EXPECT_EQ(run_coilward({"--version"}).out.substr(0, 9), "coilward ");
}

TEST(Usage, wrong_usage_is_status_2_with_nothing_on_stdout) {
  const std::vector<std::vector<std::string>> wrong = {
      {},
      {"water"},
      {"zones", "--frobnicate"},
      {"zones", "extra"},
      {"locate"},
      {"check-config"},
      {"replay", "recording"},
      {"history", "--zone", "four"},
      {"history", "--zone", "999"},
      {"history", "--csv", "--json"},
      {"pause"},
      {"pause", "--for", "2h", "--until", "2026-05-04T12:00:00Z"},
      {"repaired"},
      {"test-reading", "x"},
      {"test-reading", "x", "--at", "A", "--volts-on", "much"},
      {"test-reading", "x", "--at", "A", "--ohms", "3k", "--toward", "valve"},
      {"test-reading", "x", "--at", "A", "--ohms", "3", "--toward", "east"},
      {"export", "--what", "secrets"},
      {"person"},
      {"person", "invite", "Sam"},
      {"person", "remove"},
      {"person", "add", "Sam", "--role", "queen"},
      {"person", "add", "Sam", "--organisation", "main"},
      {"organisation", "list"},
      {"organisation", "sell", "main"},
      {"share", "add", "Bo", "--days", "400"},
      {"share", "end"},
      {"zones", "--state", "/nowhere"}};
  for (const auto& args : wrong) {
    const Ran ran = run_coilward(args);
    EXPECT_EQ(ran.status, 2) << ::testing::PrintToString(args) << ran.err;
    EXPECT_TRUE(ran.out.empty()) << ::testing::PrintToString(args) << ran.out;
    EXPECT_FALSE(ran.err.empty()) << ::testing::PrintToString(args);
  }
}

TEST(Usage, a_wrong_configuration_is_status_78) {
  const TestFiles files;
  std::ofstream(files.config) << "[site]\nidd = \"x\"\n";
  for (const std::vector<std::string>& args :
       std::vector<std::vector<std::string>>{{"check-config", files.config},
                                             {"zones", "--config", files.config},
                                             {"zones", "--config", files.config, "--state", files.state},
                                             {"replay", "-", "--config", files.config}}) {
    const Ran ran = run_coilward(args);
    EXPECT_EQ(ran.status, 78) << ::testing::PrintToString(args) << ran.err;
    EXPECT_NE(ran.err.find("idd"), std::string::npos) << ran.err;
  }
}

TEST(Usage, a_good_configuration_is_said_to_be_good) {
  const TestFiles files;
  const Ran ran = run_coilward({"check-config", files.config});
  EXPECT_EQ(ran.status, 0) << ran.err;
  EXPECT_NE(ran.out.find("good"), std::string::npos);
}

TEST(Usage, without_a_daemon_it_says_how_to_go_on) {
  const TestFiles files;
  const Ran ran = run_coilward({"zones", "--socket", files.directory / "none.sock"});
  EXPECT_EQ(ran.status, 1);
  EXPECT_NE(ran.err.find("is coilwardd running?"), std::string::npos) << ran.err;
}

TEST(Usage, a_state_that_is_not_there_is_a_failure) {
  const TestFiles files;
  EXPECT_EQ(files.offline({"zones"}).status, 1);
}

TEST(Usage, a_full_disk_behind_stdout_is_a_failure) {
  const TestFiles files;
  const std::string command = std::string(COILWARD_BINARY_DIR "/bin/coilward check-config ") + files.config +
                              " > /dev/full 2> /dev/null";
  const int status = std::system(command.c_str());
  EXPECT_EQ(WEXITSTATUS(status), 1);
}

}  // namespace
}  // namespace coilward
