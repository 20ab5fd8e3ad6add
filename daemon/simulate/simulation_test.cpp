#include "daemon/simulate/simulation.h"

#include <gtest/gtest.h>
#include <unistd.h>

#include <cmath>
#include <complex>
#include <cstdio>
#include <nlohmann/json.hpp>
#include <numbers>

#include "daemon/intake/recording_reader.h"
#include "daemon/simulate/recording_writer.h"
#include "daemon/simulate/test_site.h"

namespace coilward::simulate {
namespace {

std::string everything(Scenario scenario) {
  Simulation simulation(std::move(scenario));
  std::string text;
  for (SimulatedMessage message; simulation.next(message);) append_recorded(text, message);
  return text + simulation.truth().dump();
}

RandomOptions small_site() {
  RandomOptions options;
  options.days = 1;
  options.most_zones = 5;
  return options;
}

TEST(Simulation, FollowsFromItsSeed) {
  const std::string one = everything(random_scenario(42, small_site()));
  EXPECT_GT(one.size(), 10000u);
  EXPECT_EQ(one, everything(random_scenario(42, small_site())));
  EXPECT_NE(one, everything(random_scenario(43, small_site())));
}

TEST(Simulation, ArrivalsNeverGoBack) {
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    Simulation simulation(random_scenario(seed, small_site()));
    UtcTime latest = kNever;
    for (SimulatedMessage message; simulation.next(message);) {
      EXPECT_GE(message.arrival, latest);
      latest = message.arrival;
    }
  }
}

// Zone 1 by hand from the drawn site: source, switch, 20 m and the lead of 18 AWG, 20 m of 14 AWG, splice,
// coil.
TEST(Simulation, AHealthyZoneDrawsWhatItsCircuitSays) {
  const Scenario scenario = test_scenario({}, 1);
  const TrueSite& site = scenario.site;
  const TrueZone& zone = site.zones[0];
  const Solenoid& coil = zone.valves[0];
  const double soil = 12;  // about; copper's 0.4 % a kelvin on some ohms of wire hardly shows
  const double wire = ohms_per_metre(0.823, false, soil) * (site.box_metres[0] + zone.own_metres) +
                      ohms_per_metre(2.08, false, soil) * site.box_metres[0] + site.splice_ohms[0];
  const double w = 2 * std::numbers::pi * 60;
  const std::complex<double> inductive(0, w * coil.henries_seated);
  const double ohms = site.source_ohms + zone.output_ohms + wire + coil.ohms_20;
  const double cold =
      site.open_volts / std::abs(ohms + inductive * coil.loss_ohms / (inductive + coil.loss_ohms));
  const double seen = SeenChannels(scenario).current(1, 0);
  EXPECT_NEAR(seen / cold, 1, 0.04);  // the coil warms, and the mains have their daily course
  EXPECT_LT(seen, cold * 1.02);
}

TEST(Simulation, ReadingsComeOnceASecondWhileOn) {
  const SeenChannels seen(test_scenario({}, 1));
  EXPECT_NEAR(static_cast<double>(seen.count("zone/3/current", 0, 86400)), 1440 + kTurn, 20);
  EXPECT_NEAR(static_cast<double>(seen.count("zone/3/voltage", 0, 86400)), 144 + kTurn / 5, 10);
  EXPECT_NEAR(static_cast<double>(seen.count("soil/temperature", 0, 86400)), 144, 5);
  EXPECT_NEAR(seen.mean("common/main/current", 3, 0), seen.current(3, 0), 0.001);
  EXPECT_LT(seen.mean("zone/3/voltage", 3, 0), seen.mean("supply/voltage", 3, 0));
}

TEST(Simulation, ARecordingIsReadBackAsItWas) {
  Scenario scenario = random_scenario(9, small_site());
  for (std::size_t i = 0; i < scenario.sensors.size(); ++i) {  // every form beside each other
    scenario.sensors[i].form = static_cast<PayloadForm>(i % 4);
    scenario.sensors[i].own_time = i % 3 == 0;
  }
  std::FILE* file = std::tmpfile();
  std::vector<SimulatedMessage> sent;
  Simulation simulation(std::move(scenario));
  for (SimulatedMessage message; simulation.next(message);) {
    std::string line;
    append_recorded(line, message);
    std::fwrite(line.data(), 1, line.size(), file);
    sent.push_back(message);
  }
  std::rewind(file);
  RecordingReader reader(::dup(::fileno(file)));
  std::size_t at = 0;
  for (Message message; reader.next(message); ++at) {
    ASSERT_LT(at, sent.size());
    ASSERT_EQ(message.topic, sent[at].topic);
    ASSERT_EQ(message.payload, sent[at].payload);
    ASSERT_EQ(message.arrival, sent[at].arrival);
    ASSERT_EQ(message.retained, sent[at].retained);
  }
  EXPECT_EQ(at, sent.size());
  EXPECT_EQ(reader.bad_lines(), 0u);
  std::fclose(file);
}

}  // namespace
}  // namespace coilward::simulate
