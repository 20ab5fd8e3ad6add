// The whole way, as a technician goes it: a wire breaks and an alert says so; the readings that are asked for
// lead to the place; it is marked as repaired, and the next runs prove it, or say why not. A real daemon,
// broker and client; a simulated site whose truth the meter shows.
#include <gmock/gmock.h>

#include "daemon/cli/run_coilward.h"
#include "tests/process/daemon_process.h"
#include "tests/story/story_site.h"
#include "tests/story/true_meter.h"
#include "tests/support/broker.h"

namespace coilward {
namespace {

using testing::HasSubstr;

constexpr int kDeadZone = 5, kSoundZone = 1;
constexpr const char* kBeyond = "D";  // the wire is broken between box C and this one

struct FaultToProof : testing::Test {
  TemporaryDirectory directory;
  Broker broker;
  StorySite site{broker.url()};
  const std::string alerts_file = directory / "alerts";
  DaemonProcess daemon{site.toml(alerts_file)};
  const simulate::FaultPlan broken = site.broken_wire(kDeadZone, kBeyond);
  std::string finding;

  void SetUp() override {
    site.record(directory / "past.jsonl");
    const Ran learned = run_coilward({"replay", directory / "past.jsonl", "--config", daemon.config(),
                                      "--state", daemon.state(), "--json"});
    ASSERT_EQ(learned.status, 0) << learned.err;
    ASSERT_EQ(learned.out, "") << "a healthy past has no finding";
    daemon.start();
    ASSERT_TRUE(daemon.ready()) << daemon.log();
    ASSERT_TRUE(becomes_true([&] { return daemon.told.count("STATUS=watching") > 0; })) << daemon.log();
  }

  Ran client(std::vector<std::string> words) const {
    words.insert(words.end(), {"--socket", daemon.run() + "/coilward.sock"});
    return run_coilward(std::move(words));
  }
  Json asked(std::vector<std::string> words) const {
    words.push_back("--json");
    const Ran ran = client(std::move(words));
    EXPECT_EQ(ran.status, 0) << ran.err;
    const auto lines = ran.lines();
    return lines.empty() ? Json() : lines.front();
  }
  Json finding_now() const {
    for (const Json& one : client({"findings", "--all", "--json"}).lines())
      if (one["id"] == finding) return one;
    return nullptr;
  }
  // What was handed over, as far as it was written whole.
  std::vector<Json> alerts() const {
    std::vector<Json> all;
    std::istringstream in(text_of(alerts_file));
    try {
      for (Json alert; in >> std::ws && !in.eof() && in >> alert;) all.push_back(alert);
    } catch (const Json::parse_error&) {
    }
    return all;
  }
  // An alert whose subject has these words was handed over.
  bool told(const std::string& words) const {
    return becomes_true([&] {
      return std::ranges::any_of(alerts(), [&](const Json& a) {
        return a["subject"].get<std::string>().find(words) != std::string::npos;
      });
    });
  }

  void breaks() {
    site.water({kDeadZone, kSoundZone}, {broken});
    ASSERT_TRUE(told("(East hedge) is not watering")) << text_of(alerts_file) << daemon.log();
    finding = alerts().front()["findings"][0]["id"].get<std::string>();
    const Json open = finding_now();
    ASSERT_FALSE(open.is_null());
    EXPECT_EQ(open["fault"], "open_circuit");
    EXPECT_EQ(open["zones"], Json::array({kDeadZone}));
  }
  // Takes the readings that are asked for, until none is.
  int locates() {
    const TrueMeter meter(site.truth(), broken);
    int taken = 0;
    Json at = asked({"locate", finding});
    for (; !at["next"].is_null() && taken < 8; ++taken) {
      std::vector<std::string> words = {"test-reading", finding, "--by", "Ana"};
      for (std::string& option : meter.read(at["next"])) words.push_back(std::move(option));
      at = asked(std::move(words));
      EXPECT_TRUE(at["explained"].get<bool>()) << at;
    }
    EXPECT_TRUE(at["solved"].get<bool>()) << at;
    const Json& first = at["places"][0];
    EXPECT_EQ(first["kind"], "segment") << at;
    EXPECT_EQ(first["conductor"], "zone");
    EXPECT_EQ(first["from"], meter.from());
    EXPECT_EQ(first["to"], meter.to());
    return taken;
  }
  // As the people at the valve read it.
  std::string sheet() const { return client({"visit", finding}).out; }

  void mends() {
    ASSERT_EQ(client({"repaired", "5", "--by", "Ana"}).status, 0);
    EXPECT_TRUE(finding_now()["closed"].is_null()) << "saying so proves nothing";
    EXPECT_THAT(sheet(), HasSubstr("by Ana"));
  }
  // The two ends were only twisted together.
  void disproves() {
    mends();
    site.water({kDeadZone}, {site.poor_splice(kDeadZone, 60)});
    ASSERT_TRUE(told("Not repaired")) << text_of(alerts_file) << daemon.log();
    const Json open = finding_now();
    EXPECT_TRUE(open["closed"].is_null());
    EXPECT_EQ(open["repair"]["proved"], false);
    const Json& zone = open["repair"]["zones"][0];
    EXPECT_LT(zone["after_amps"].get<double>(), zone["low_amps"].get<double>());
    // Roughly: by the draw alone, whatever the supply was in that minute.
    EXPECT_GT(zone["left_ohms"].get<double>(), 15);
    EXPECT_LT(zone["left_ohms"].get<double>(), 120);
    EXPECT_THAT(open["repair"]["words"].get<std::string>(), HasSubstr("but should draw"));
    EXPECT_THAT(sheet(), HasSubstr("but should draw"));
  }
  void proves() {
    mends();
    site.water({kDeadZone}, {});
    ASSERT_TRUE(becomes_true([&] { return !finding_now()["closed"].is_null(); }))
        << finding_now() << daemon.log();
    const Json closed = finding_now();
    EXPECT_THAT(closed["close_reason"].get<std::string>(), HasSubstr("repaired"));
    EXPECT_EQ(closed["repair"]["proved"], true);
    const Json& zone = closed["repair"]["zones"][0];
    EXPECT_LT(zone["fault_amps"].get<double>(), 0.02);
    EXPECT_NEAR(zone["after_amps"].get<double>(), zone["before_amps"].get<double>(), 0.02);
    EXPECT_TRUE(told("Repaired: Zone 5 (East hedge)")) << text_of(alerts_file);
    EXPECT_THAT(sheet(), HasSubstr("Over since"));
    EXPECT_EQ(client({"findings", "--json"}).out, "") << "nothing else was opened on the way";
  }
};

TEST_F(FaultToProof, TheReadingsThatAreAskedForLeadToThePlaceAndTheNextRunIsTheJudge) {
  breaks();
  EXPECT_THAT(sheet(), HasSubstr("Readings to take, in this order"));
  const int taken = locates();
  EXPECT_GE(taken, 3);
  EXPECT_LE(taken, 4) << "five boxes, half of them each time, and the two conductors";
  EXPECT_THAT(sheet(), HasSubstr("Found: the zone wire between box C and box D."));
  disproves();
  proves();
}

}  // namespace
}  // namespace coilward
