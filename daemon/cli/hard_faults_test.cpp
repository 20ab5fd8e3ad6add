// What `coilward simulate` breaks for good, `coilward replay` names: on the configurations this project
// ships, every output, every stretch of every common, and the supply.
#include <fmt/ranges.h>

#include "daemon/cli/run_coilward.h"
#include "daemon/config/config.h"
#include "daemon/simulate/fault_plan.h"

namespace coilward {
namespace {

struct Case {
  std::string fault;  // as --fault takes it
  Fault named;
  std::vector<int> zones;
  std::string segment;  // far box, of a failed common
  bool only_among;      // nothing measured tells it from another fault: that one may be named first
};

class HardFaults : public ::testing::TestWithParam<std::tuple<std::string, bool>> {
 protected:
  HardFaults() {
    auto loaded = load_config(file);
    EXPECT_TRUE(loaded) << loaded.error().what;
    if (loaded) config = std::move(*loaded);
  }

  std::vector<Case> cases() const {
    std::vector<Case> list;
    for (const ZoneConfig& zone : config.zones) {
      list.push_back({fmt::format("open_circuit:zone={}", zone.number), Fault::open_circuit, {zone.number}});
      list.push_back(
          {fmt::format("shorted_coil:zone={},turns=0", zone.number), Fault::shorted_coil, {zone.number}});
    }
    for (std::size_t c = 0; c < config.commons.size(); ++c)
      for (std::size_t b = 0; b < config.boxes.size(); ++b) add_common(list, c, b);
    std::vector<int> all;
    for (const ZoneConfig& zone : config.zones) all.push_back(zone.number);
    list.push_back({"supply_lost:", Fault::supply_lost, all, "", all.size() == 1 && !all_channels});
    return list;
  }

  void add_common(std::vector<Case>& list, std::size_t common, std::size_t box) const {
    simulate::FaultPlan plan;
    plan.fault = Fault::failed_common;
    plan.common = static_cast<int>(common), plan.box = static_cast<int>(box);
    const auto zones = simulate::fault_zones(plan, config);
    if (zones.empty()) return;
    // One dead zone is as well its own wire; all zones dead are as well a dead supply, where nobody measures
    // that.
    const bool everything = zones.size() == config.zones.size();
    list.push_back(
        {fmt::format("failed_common:common={},segment={}", config.commons[common].id, config.boxes[box].id),
         Fault::failed_common, zones, config.boxes[box].id,
         zones.size() == 1 || (everything && !all_channels)});
  }

  std::vector<Json> open_findings(const std::string& fault) {
    std::vector<std::string> simulate = {
        "simulate", "--config", file,
        "--days",   "14",       "--recording",
        recording,  "--fault",  fault + (fault.back() == ':' ? "" : ",") + "day=10"};
    if (all_channels) simulate.push_back("--all-channels");
    const Ran made = run_coilward(simulate);
    EXPECT_EQ(made.status, 0) << made.err;
    const Ran ran = run_coilward({"replay", recording, "--config", file, "--json"});
    EXPECT_EQ(ran.status, 0) << ran.err;
    std::map<std::string, Json> latest;
    for (const Json& line : ran.lines()) latest[line.at("id").get<std::string>()] = line;
    std::vector<Json> open;
    for (const auto& [id, finding] : latest)
      if (finding.at("closed").is_null()) open.push_back(finding);
    return open;
  }

  const std::string file = COILWARD_SOURCE_DIR "/config/" + std::get<0>(GetParam()) + ".toml";
  const bool all_channels = std::get<1>(GetParam());
  const TemporaryDirectory directory;
  const std::string recording = directory / "recording.jsonl";
  Config config;
};

bool is_among(const Json& finding, Fault fault) {
  if (finding.at("fault") == fault_name(fault)) return true;
  for (const Json& other : finding.at("alternatives"))
    if (other.at("fault") == fault_name(fault)) return true;
  return false;
}

TEST_P(HardFaults, EachIsNamed) {
  for (const Case& it : cases()) {
    SCOPED_TRACE(it.fault);
    const auto open = open_findings(it.fault);
    ASSERT_EQ(open.size(), 1u) << Json(open).dump(1);
    const Json& finding = open.front();
    EXPECT_TRUE(is_among(finding, it.named)) << finding.dump(1);
    if (it.only_among) continue;
    EXPECT_EQ(finding.at("fault"), fault_name(it.named)) << finding.dump(1);
    EXPECT_EQ(finding.at("zones").get<std::vector<int>>(), it.zones);
    if (!it.segment.empty()) {
      EXPECT_EQ(finding.at("where").at(0).at("to"), it.segment) << finding.dump(1);
    }
  }
}

INSTANTIATE_TEST_SUITE_P(Shipped, HardFaults,
                         testing::Combine(testing::Values("home", "park", "example"), testing::Bool()),
                         [](const auto& it) {
                           return std::get<0>(it.param) +
                                  (std::get<1>(it.param) ? "AllChannels" : "CommandOnly");
                         });

}  // namespace
}  // namespace coilward
