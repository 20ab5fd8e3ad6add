// Three valves on one common in eight states: stored results of another program, that program run again now,
// our general network and our site model must all say the same.
#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <numbers>

#include "daemon/circuit/network.h"
#include "daemon/circuit/ngspice.h"
#include "daemon/circuit/reference_data.h"
#include "daemon/circuit/site_circuit.h"

namespace coilward::circuit {
namespace {

constexpr double kOmega = 2 * std::numbers::pi * 60;
constexpr double kSwitchOn = 0.5, kSwitchOff = 1e9;

struct State {
  std::string row;  // first letter in results.csv
  std::array<bool, 3> on{true, true, true};
  std::array<double, 3> coil_ohms{30, 30, 30};
  std::array<double, 3> coil_henries{0.21, 0.21, 0.21};
  double splice_2 = 0;
  double common = 2.2725;
};

std::vector<State> states() {
  std::vector<State> all{{"A"}, {"B"}, {"C"}, {"D"}, {"E"}, {"F"}, {"G"}};
  all[1].on = all[2].on = {true, false, false};
  all[2].coil_henries[0] = 0.09;
  all[3].splice_2 = 20;
  all[4].common = 22.2725;
  all[5].coil_ohms[2] = 2, all[5].coil_henries[2] = 0.002;
  all[6].common = 1e9;
  return all;
}

constexpr std::array<double, 3> kWire{1.9155, 3.8310, 5.7465};

struct Answer {
  std::array<Phasor, 3> zones;
  Phasor common, hot;
};

Answer by_network(const State& state) {
  Network network;
  const Node hot = network.add_node(), com = network.add_node();
  network.add_source(kReference, hot, 26, {0.9, kOmega * 0.6e-3});
  std::array<Branch, 3> zones{};
  for (std::size_t i = 0; i < 3; ++i) {
    const Node terminal = network.add_node(), valve = network.add_node();
    network.add_impedance(hot, terminal, state.on[i] ? kSwitchOn : kSwitchOff);
    network.add_impedance(terminal, valve, kWire[i] + (i == 1 ? state.splice_2 : 0));
    zones[i] = network.add_impedance(valve, com, {state.coil_ohms[i], kOmega * state.coil_henries[i]});
  }
  const Branch common = network.add_impedance(com, kReference, state.common);
  const auto found = network.solve();
  EXPECT_TRUE(found);
  Answer answer{{}, found->amps[common], found->volts[hot]};
  for (std::size_t i = 0; i < 3; ++i) answer.zones[i] = found->amps[zones[i]];
  return answer;
}

Answer by_site(const State& state) {
  SiteLayout layout{26, {0.9, kOmega * 0.6e-3}, {{{-1, 0}, {0, state.common}}}, {}};
  std::vector<int> on;
  for (std::size_t i = 0; i < 3; ++i) {
    const Coil coil{state.coil_ohms[i], kOmega * state.coil_henries[i], 0};
    layout.zones.push_back({0, 1, kSwitchOn + kWire[i], coil, 1});
    if (state.on[i]) on.push_back(static_cast<int>(i));
  }
  SiteFaults faults;
  faults.zones.push_back({1, {.splice_ohms = state.splice_2}});
  const Solution found = solve(layout, on, faults);
  return {
      {found.zone_amps[0], found.zone_amps[1], found.zone_amps[2]}, found.common_amps[0], found.zone_volts};
}

// 1e-5, or the last printed digit where that is coarser; an output that is off is 0 in the table and passes
// what its switch leaks, 26 V over 1e9 ohm.
void expect_close(double value, const ReferenceRow& row, const std::string& column) {
  const double expected = row.number(column);
  const double printed = expected != 0 && expected < 1e-7 ? 1e-4 * expected : 0;
  EXPECT_NEAR(value, expected, expected == 0 ? 3e-8 : std::max(1e-5 * expected, printed)) << column;
}

void expect_row(const Answer& answer, const ReferenceRow& row) {
  expect_close(std::abs(answer.zones[0]), row, "i1_A");
  expect_close(std::abs(answer.zones[1]), row, "i2_A");
  expect_close(std::abs(answer.zones[2]), row, "i3_A");
  if (std::abs(answer.common) > 1e-7) expect_close(std::abs(answer.common), row, "i_common_A");
  expect_close(std::abs(answer.hot), row, "v_hot_V");
  if (row.cells.count("i1_phase_deg")) {
    EXPECT_NEAR(std::arg(answer.zones[0]) * 180 / std::numbers::pi, row.number("i1_phase_deg"), 6e-5);
  }
}

TEST(ThreeValves, BothModelsAgreeWithTheStoredResults) {
  const auto rows = reference_table("ngspice/results.csv");
  ASSERT_EQ(rows.size(), 8u);
  const auto all = states();
  for (std::size_t i = 0; i < all.size(); ++i) {
    SCOPED_TRACE(rows[i].text("state"));
    ASSERT_EQ(rows[i].text("state").substr(0, 1), all[i].row);
    expect_row(by_network(all[i]), rows[i]);
    expect_row(by_site(all[i]), rows[i]);
  }
}

TEST(ThreeValves, TheOpenCommonStopsEveryZone) {
  const auto row = reference_table("ngspice/results.csv").at(6);
  const Answer answer = by_network(states()[6]);
  EXPECT_NEAR(std::abs(answer.common), row.number("i_common_A"),
              row.number("i_common_A") * 2e-3);  // "2.6e-08"
  for (const Phasor& zone : answer.zones) EXPECT_LT(std::abs(zone), 3e-8);
  State broken = states()[6];
  broken.common = kNoPath;
  for (const Phasor& zone : by_site(broken).zones) EXPECT_LT(std::abs(zone), 1e-12);
}

// Row H is the RMS of a time-domain run of state A; its own steps are good for 5e-5.
TEST(ThreeValves, TheTimeDomainAgrees) {
  const auto row = reference_table("ngspice/results.csv").at(7);
  const Answer answer = by_network(states()[0]);
  for (std::size_t i = 0; i < 3; ++i) {
    const double stored = row.number("i" + std::to_string(i + 1) + "_A");
    EXPECT_NEAR(std::abs(answer.zones[i]), stored, 5e-5 * stored);
  }
  EXPECT_NEAR(std::abs(answer.common), row.number("i_common_A"), 5e-5 * row.number("i_common_A"));
}

std::string deck_text() {
  std::ifstream file = open_reference("ngspice/three_valves.cir");
  return {std::istreambuf_iterator<char>(file), {}};
}

// What the deck prints of a state, in its order.
std::vector<double> expected_prints(const State& state) {
  const Answer answer = by_network(state);
  std::vector<double> values;
  for (const Phasor& zone : answer.zones) values.push_back(std::abs(zone));
  if (state.row == "C") values.resize(1);
  values.push_back(std::abs(answer.common));
  if (state.row != "G") values.push_back(std::abs(answer.hot));
  if (state.row == "A") values.push_back(std::arg(answer.zones[0]) * 180 / std::numbers::pi);
  return values;
}

TEST(ThreeValves, TheLiveRunAgrees) {
  if (!ngspice_installed()) GTEST_SKIP() << kNoNgspice;
  const auto printed = printed_values(run_ngspice(deck_text()));
  std::vector<std::pair<std::string, double>> values;
  for (const auto& [name, value] : printed)
    if (name.find("(i(v") != std::string::npos || name == "mag(v(hot))" ||
        name.find("rms") != std::string::npos)
      values.emplace_back(name, value.real());
  std::size_t next = 0;
  for (const State& state : states())
    for (double expected : expected_prints(state)) {
      ASSERT_LT(next, values.size());
      SCOPED_TRACE(state.row + " " + values[next].first);
      EXPECT_NEAR(values[next++].second, expected, 1e-5 * std::abs(expected));
    }
  ASSERT_EQ(values.size(), next + 4);
  const Answer steady = by_network(states()[0]);
  for (std::size_t i = 0; i < 3; ++i, ++next)
    EXPECT_NEAR(values[next].second, std::abs(steady.zones[i]), 5e-5 * values[next].second);
  EXPECT_NEAR(values[next].second, std::abs(steady.common), 5e-5 * values[next].second);
}

}  // namespace
}  // namespace coilward::circuit
