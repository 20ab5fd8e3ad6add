// From a replayed recording to the place of the break, through the command line on files.
#include "daemon/cli/run_coilward.h"
#include "daemon/history/backup.h"

namespace coilward {
namespace {

class FindTheBreak : public ::testing::Test {
 protected:
  FindTheBreak() {
    files.record(8, 1);
    EXPECT_EQ(files.replay_state().status, 0);
    id = files.offline({"findings", "--json"}).lines().at(0)["id"].get<std::string>();
  }
  Json locate() {
    const Ran ran = files.offline({"locate", id, "--json"});
    EXPECT_EQ(ran.status, 0) << ran.err;
    return ran.lines().at(0);
  }
  Ran enter(std::vector<std::string> reading) {
    reading.insert(reading.begin(), {"test-reading", id});
    return files.offline(std::move(reading));
  }

  TestFiles files;
  std::string id;
};

TEST_F(FindTheBreak, three_readings_solve_it) {
  Json found = locate();
  EXPECT_EQ(found["finding"], id);
  EXPECT_EQ(found["zone"], 4);
  EXPECT_EQ(found["solved"], false);
  EXPECT_EQ(found["next"]["reading"], "volts_on");
  // Zone 5 has drawn by way of the common since.
  for (const Json& place : found["places"])
    if (place["kind"] == "segment" && place["conductor"] == "common")
      EXPECT_LT(place["probability"].get<double>(), 0.01);

  // The wire is broken between A and B; a technician takes what is proposed.
  int readings = 0;
  for (; !found["next"].is_null() && readings < 6; ++readings) {
    const Json next = found["next"];
    const std::string at = next["at"];
    std::vector<std::string> args = {"--at", at, "--by", "Ana"};
    if (next["reading"] == "volts_on")
      args.insert(args.end(), {"--volts-on", at == "B" ? "0.3" : "26.2"});
    else
      args.insert(args.end(), {"--ohms", at == "B" ? "34" : "OL", "--toward", "valve"});
    const Ran ran = enter(args);
    ASSERT_EQ(ran.status, 0) << ran.err;
    EXPECT_NE(ran.out.find("Kept."), std::string::npos);
    found = locate();
  }
  EXPECT_EQ(readings, 3);
  EXPECT_EQ(found["solved"], true);
  EXPECT_EQ(found["places"][0]["kind"], "segment");
  EXPECT_EQ(found["places"][0]["from"], "A");
  EXPECT_EQ(found["places"][0]["to"], "B");
  EXPECT_GT(found["places"][0]["probability"].get<double>(), 0.9);

  const std::string told = files.offline({"locate", id}).out;
  EXPECT_NE(told.find("Found: zone wire from A to B."), std::string::npos) << told;
  EXPECT_NE(told.find("Have buried services located before you dig."), std::string::npos) << told;
  EXPECT_NE(told.find("Ana"), std::string::npos) << told;
}

TEST_F(FindTheBreak, the_next_reading_is_told_with_what_it_means_and_its_caution) {
  const Ran ran = files.offline({"locate", id});
  EXPECT_EQ(ran.status, 0) << ran.err;
  for (const char* words : {"Sure", "With zone 4 on, measure the volts", "0 to 2 volts", "beyond",
                            "Take care: Switch the zone off before you touch wires in a wet box."})
    EXPECT_NE(ran.out.find(words), std::string::npos) << words << "\n" << ran.out;
  EXPECT_TRUE(ran.err.empty()) << ran.err;
}

TEST_F(FindTheBreak, a_reading_that_no_place_explains_is_said_and_kept) {
  const Ran ran = enter({"--at", "A", "--volts-on", "12"});
  EXPECT_EQ(ran.status, 0) << ran.err;
  EXPECT_NE(ran.out.find("No place explains this reading: 12 V with zone 4 on at A"), std::string::npos)
      << ran.out;
  EXPECT_NE(files.offline({"locate", id}).out.find("no place explains it"), std::string::npos);
  EXPECT_EQ(locate()["solved"], false);
}

TEST_F(FindTheBreak, what_cannot_be_is_wrong_usage) {
  const std::vector<std::vector<std::string>> wrong = {
      {"--at", "Z", "--volts-on", "26"},
      {"--at", "A"},
      {"--at", "A", "--volts-on", "26", "--ohms", "3", "--toward", "valve"},
      {"--at", "A", "--volts-on", "26100"},
      {"--at", "A", "--volts-on", "-4"},
      {"--at", "A", "--volts-on", "nan"},
      {"--at", "A", "--ohms", "33"},
      {"--at", "A", "--source-volts", "40", "--volts-to-earth", "35"},
      {"--at", "A", "--source-volts", "40", "--volts-to-earth", "350", "--conductor", "zone"},
  };
  for (const auto& args : wrong) {
    const Ran ran = enter(args);
    EXPECT_EQ(ran.status, 2) << ::testing::PrintToString(args) << ran.err;
    EXPECT_TRUE(ran.out.empty()) << ran.out;
    EXPECT_FALSE(ran.err.empty());
  }
  EXPECT_NE(enter({"--at", "Z", "--volts-on", "26"}).err.find("controller, A, B"), std::string::npos);
  EXPECT_EQ(files.offline({"test-reading", "nothing", "--at", "A", "--volts-on", "26"}).status, 1);
}

TEST_F(FindTheBreak, readings_are_part_of_a_backup) {
  ASSERT_EQ(enter({"--at", "B", "--volts-on", "0.3"}).status, 0);
  const Json before = locate();
  const std::string copy = files.directory / "copy", other = files.directory / "other";
  ASSERT_EQ(files.offline({"backup", copy}).status, 0);
  ASSERT_EQ(run_coilward({"restore", copy, "--state", other}).status, 0);
  const Ran ran = run_coilward({"locate", id, "--json", "--state", other, "--config", files.config});
  EXPECT_EQ(ran.lines().at(0), before);
}

// What zone 4 did on the ninth day, after someone said at the end of the eighth that it is repaired.
class AfterARepair : public FindTheBreak {
 protected:
  void SetUp() override {
    ASSERT_EQ(enter({"--at", "B", "--volts-on", "0.3"}).status, 0);
    ASSERT_EQ(files.offline({"repaired", "4"}).status, 0);
  }
  void ninth_day(bool broken) {
    std::istringstream lines(SiteRecording(9, broken ? 1 : 0).text());
    std::ofstream out(files.recording);
    for (std::string line; std::getline(lines, line);)
      if (line.find("\"2026-05-12") != std::string::npos && line.find("zone/4") != std::string::npos)
        out << line << "\n";
    out.close();
    ASSERT_EQ(files.replay_state().status, 0);
  }
  Json finding() {
    for (const Json& json : files.offline({"findings", "--all", "--json"}).lines())
      if (json["id"] == id) return json;
    return {};
  }
};

TEST_F(AfterARepair, it_waits_for_a_run_and_earlier_readings_do_not_count) {
  const std::string told = files.offline({"locate", id}).out;
  EXPECT_NE(told.find("The next run will prove it or not."), std::string::npos) << told;
  EXPECT_NE(told.find("from before the repair"), std::string::npos) << told;
  EXPECT_EQ(locate()["next"]["at"], "B");
}

TEST_F(AfterARepair, a_healthy_run_proves_it) {
  ninth_day(false);
  const Json closed = finding();
  EXPECT_FALSE(closed["closed"].is_null());
  EXPECT_EQ(closed["close_reason"].get<std::string>().substr(0, 9), "repaired:");
  const std::string told = files.offline({"locate", id}).out;
  EXPECT_NE(told.find("Runs since then prove it."), std::string::npos) << told;
}

TEST_F(AfterARepair, a_dead_run_shows_that_it_is_not) {
  ninth_day(true);
  EXPECT_TRUE(finding()["closed"].is_null());
  const std::string told = files.offline({"locate", id}).out;
  EXPECT_NE(told.find("It has run since then, and the finding stands"), std::string::npos) << told;
}

}  // namespace
}  // namespace coilward
