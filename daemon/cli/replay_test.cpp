// `coilward replay` and the verbs on the files it leaves.
#include "daemon/cli/run_coilward.h"
#include "daemon/history/backup.h"
#include "daemon/history/state_directory.h"

namespace coilward {
namespace {

const Json& golden_names() {
  static const Json json = Json::parse(text_of(COILWARD_SOURCE_DIR "/daemon/cli/cases/names.json"));
  return json;
}

// Names may be added, not removed.
void expect_names(const std::string& verb, const Ran& ran) {
  ASSERT_EQ(ran.status, 0) << verb << ": " << ran.err;
  const auto lines = ran.lines();
  ASSERT_FALSE(lines.empty()) << verb;
  for (const Json& line : lines) {
    ASSERT_TRUE(line.is_object()) << verb << ": " << ran.out;
    for (const Json& name : golden_names().at(verb))
      EXPECT_TRUE(line.contains(Json::json_pointer("/" + name.get<std::string>())))
          << verb << ": " << name << line;
  }
}

// The recordings have nothing of the nights, of which the site says what a daemon would say. That is not what
// these tests are about.
bool says_that_zone_4_is_open(const Ran& ran) {
  for (const Json& line : ran.lines())
    if (line["fault"] == "open_circuit" && line["zones"] == Json::array({4})) return true;
  return false;
}

class ReplayTest : public ::testing::Test {
 protected:
  std::string open_finding() {
    const auto lines = files.offline({"findings", "--json"}).lines();
    return lines.empty() ? "" : lines[0].value("id", "");
  }
  TestFiles files;
};

TEST_F(ReplayTest, a_broken_zone_is_found_and_printed_once_a_line) {
  files.record(8, 1);
  const Ran ran = run_coilward({"replay", files.recording, "--config", files.config, "--json"});
  ASSERT_EQ(ran.status, 0) << ran.err;
  expect_names("replay", ran);
  EXPECT_TRUE(says_that_zone_4_is_open(ran)) << ran.out;
  EXPECT_FALSE(std::filesystem::exists(files.state));
}

TEST_F(ReplayTest, standard_input_is_read_and_gives_the_same) {
  files.record(8, 1);
  const Ran file = run_coilward({"replay", files.recording, "--config", files.config, "--json"});
  const Ran pipe =
      run_coilward({"replay", "-", "--config", files.config, "--json"}, text_of(files.recording));
  EXPECT_EQ(pipe.status, 0);
  EXPECT_EQ(pipe.out, file.out);
  const Ran words = run_coilward({"replay", files.recording, "--config", files.config});
  EXPECT_NE(words.out.find("opened"), std::string::npos) << words.out;
}

TEST_F(ReplayTest, bad_lines_are_counted_and_nothing_readable_is_a_failure) {
  files.record(1, 0);
  const std::string text = "not json\n{\"tst\": 7}\n" + text_of(files.recording);
  const Ran some = run_coilward({"replay", "-", "--config", files.config}, text);
  EXPECT_EQ(some.status, 0);
  EXPECT_NE(some.err.find("2 bad lines"), std::string::npos) << some.err;
  EXPECT_EQ(run_coilward({"replay", "-", "--config", files.config}, "not json\n").status, 1);
  EXPECT_EQ(run_coilward({"replay", "-", "--config", files.config}, "").status, 1);
  EXPECT_EQ(run_coilward({"replay", files.directory / "none", "--config", files.config}).status, 1);
}

TEST_F(ReplayTest, every_verb_on_files_keeps_its_names) {
  files.record(8, 1);
  ASSERT_EQ(files.replay_state().status, 0);
  expect_names("zones", files.offline({"zones", "--json"}));
  expect_names("findings", files.offline({"findings", "--json"}));
  expect_names("findings", files.offline({"findings", "--all", "--json"}));
  expect_names("history", files.offline({"history", "--zone", "4", "--json"}));
  expect_names("history --every", files.offline({"history", "--zone", "4", "--every", "1h", "--json"}));
  expect_names("runs", files.offline({"runs", "--json"}));
  expect_names("export", files.offline({"export", "--json"}));
  expect_names("health", files.offline({"health", "--json"}));
  expect_names("locate", files.offline({"locate", open_finding(), "--json"}));
  expect_names("test-reading",
               files.offline({"test-reading", open_finding(), "--at", "A", "--volts-on", "26", "--json"}));
  expect_names("acknowledge", files.offline({"acknowledge", open_finding(), "--json"}));
  expect_names("pause", files.offline({"pause", "--for", "2h", "--json"}));
  expect_names("pause --end", files.offline({"pause", "--end", "--json"}));
  expect_names("repaired", files.offline({"repaired", "4", "--json"}));
  expect_names("check-config", run_coilward({"check-config", files.config, "--json"}));
}

TEST_F(ReplayTest, history_runs_and_export_hold_what_was_recorded) {
  files.record(3, 0);
  ASSERT_EQ(files.replay_state().status, 0);
  EXPECT_EQ(files.offline({"history", "--zone", "4", "--json"}).lines().size(), 3u * 319);
  EXPECT_EQ(files.offline({"runs", "--json"}).lines().size(), 9u);
  EXPECT_EQ(files.offline({"runs", "--zone", "4", "--json"}).lines().size(), 3u);
  const std::string csv = files.offline({"history", "--csv"}).out;  // all zones, one header
  EXPECT_EQ(std::count(csv.begin(), csv.end(), '\n'), 1 + 9 * 319);
  const std::string table = files.offline({"history", "--zone", "4", "--every", "5m"}).out;
  EXPECT_NE(table.find("0.231 A"), std::string::npos) << table;
  EXPECT_NE(table.find("2026-05-06 00:0"), std::string::npos) << table;  // Boise is six hours behind UTC
  const std::string out = files.directory / "all.csv";
  EXPECT_EQ(files.offline({"export", "--out", out}).status, 0);
  const std::string written = text_of(out);
  EXPECT_EQ(std::count(written.begin(), written.end(), '\n'), 1 + 9 * 319 + 18);
  EXPECT_EQ(files.offline({"history", "--since", "whenever"}).status, 2);
}

TEST_F(ReplayTest, acting_on_files_is_kept) {
  files.record(8, 1);
  ASSERT_EQ(files.replay_state().status, 0);
  const std::string id = open_finding();
  ASSERT_FALSE(id.empty());
  EXPECT_NE(files.offline({"zones"}).out.find("open_circuit"), std::string::npos);  // what is wrong, not that
  EXPECT_EQ(files.offline({"acknowledge", id, "--by", "Ana"}).status, 0);
  EXPECT_EQ(files.offline({"findings", "--json"}).lines()[0]["acknowledged_by"], "Ana");
  EXPECT_EQ(files.offline({"acknowledge", "nothing"}).status, 1);
  EXPECT_EQ(files.offline({"pause", "--end"}).status, 1);
  EXPECT_EQ(files.offline({"repaired", "--zone", "9"}).status, 1);
  EXPECT_EQ(files.offline({"repaired", "common", "main"}).status, 0);
  EXPECT_EQ(files.offline({"test-alert", "mail"}).status, 1);
}

TEST_F(ReplayTest, a_directory_in_use_is_not_written) {
  files.record(1, 0);
  ASSERT_EQ(files.replay_state().status, 0);
  const auto lock = StateDirectory::lock(files.state);
  ASSERT_TRUE(lock);
  EXPECT_EQ(files.replay_state().status, 1);
  EXPECT_EQ(files.offline({"repaired", "4"}).status, 1);
  EXPECT_EQ(files.offline({"zones"}).status, 0);  // reading needs no lock
}

TEST_F(ReplayTest, a_replay_goes_on_from_the_state_of_the_last) {
  const std::string whole = SiteRecording(8, 1).text();
  const std::size_t half = whole.find('\n', whole.size() / 2) + 1;
  std::ofstream(files.recording) << whole.substr(0, half);
  ASSERT_EQ(files.replay_state().status, 0);
  std::ofstream(files.recording, std::ios::trunc) << whole.substr(half);
  const Ran second = files.replay_state();
  ASSERT_EQ(second.status, 0) << second.err;
  EXPECT_NE(second.err.find("goes on from"), std::string::npos);
  EXPECT_TRUE(says_that_zone_4_is_open(second)) << second.out;
  EXPECT_EQ(files.offline({"history", "--zone", "4", "--json"}).lines().size(), 8u * 319);
}

TEST_F(ReplayTest, a_backup_is_restored) {
  files.record(3, 0);
  ASSERT_EQ(files.replay_state().status, 0);
  const std::string copy = files.directory / "copy";
  expect_names("backup", files.offline({"backup", copy, "--json"}));
  EXPECT_EQ(files.offline({"backup", copy}).status, 1);
  std::filesystem::remove_all(files.state);
  expect_names("restore", run_coilward({"restore", copy, "--state", files.state, "--json"}));
  EXPECT_EQ(files.offline({"runs", "--json"}).lines().size(), 9u);
  std::ofstream(copy + "/history.db", std::ios::app) << "x";
  EXPECT_EQ(run_coilward({"restore", copy, "--state", files.state}).status, 1);
}

}  // namespace
}  // namespace coilward
