#include "daemon/circuit/network.h"

#include <gtest/gtest.h>

#include <limits>
#include <numbers>

#include "daemon/circuit/reference_data.h"
#include "daemon/circuit/supply.h"

namespace coilward::circuit {
namespace {

Impedance henries(double inductance, double hertz) { return {0, 2 * std::numbers::pi * hertz * inductance}; }
double degrees(Phasor x) { return std::arg(x) * 180 / std::numbers::pi; }

TEST(Network, ResistanceAndInductanceInSeries) {
  const auto example = worked_example("ac/worked_examples.json", "liec-ac-3-series-RL");
  const auto &given = example["given"], &published = example["published"], &exact = example["exact"];
  const Impedance coil = henries(given["L_H"], given["f_Hz"]);
  Network network;
  const Node top = network.add_node(), middle = network.add_node();
  network.add_source(kReference, top, given["V_rms"].get<double>(), 0);
  const Branch resistor = network.add_impedance(top, middle, given["R_ohm"].get<double>());
  network.add_impedance(middle, kReference, coil);
  const auto found = network.solve();
  ASSERT_TRUE(found);
  const Phasor amps = found->amps[resistor], over_coil = found->volts[middle],
               over_resistor = found->volts[top] - found->volts[middle];
  EXPECT_NEAR(coil.imag(), published["XL_ohm"], 5e-5);
  EXPECT_NEAR(std::abs(amps), published["I_A"], 5e-4);
  EXPECT_NEAR(degrees(amps), published["I_phase_deg"], 5e-4);
  EXPECT_NEAR(std::abs(over_resistor), published["VR_V"], 5e-5);
  EXPECT_NEAR(std::abs(over_coil), published["VL_V"], 5e-4);
  EXPECT_NEAR(degrees(over_coil), published["VL_phase_deg"], 5e-4);
  EXPECT_NEAR(std::abs(amps), exact["I_A"], 1e-12);
  EXPECT_NEAR((found->volts[top] * std::conj(amps)).real(), exact["P_W"], 1e-10);
  EXPECT_NEAR(std::abs(found->volts[top]) * std::abs(amps), exact["S_VA"], 1e-10);
}

// The third transformer of that source gives no inductances: an illustration, nothing to compute.
TEST(Network, CoupledWindingsSagUnderLoad) {
  const auto example = worked_example("ac/worked_examples.json", "liec-ac-9-regulation");
  const auto &given = example["given"], &published = example["published"], &exact = example["exact"];
  const auto secondary_volts = [&](double load) {
    const double l1 = given["L1_H"], l2 = given["L2_H"], hertz = given["f_Hz"];
    Network network;
    const Node primary = network.add_node(), secondary = network.add_node();
    network.add_source(kReference, primary, given["Vp_rms"].get<double>(), 0);
    network.add_windings(primary, kReference, henries(l1, hertz), secondary, kReference, henries(l2, hertz),
                         henries(given["k"].get<double>() * std::sqrt(l1 * l2), hertz));
    network.add_impedance(secondary, kReference, load);
    const auto found = network.solve();
    EXPECT_TRUE(found);
    return std::abs(found->volts[secondary]);
  };
  const double none = secondary_volts(given["loads_ohm"][0]), light = secondary_volts(given["loads_ohm"][1]),
               full = secondary_volts(given["loads_ohm"][2]);
  EXPECT_NEAR(none, published["V_no_load"], 0.0005);
  EXPECT_NEAR(light, published["V_1k"], 0.0005);
  EXPECT_NEAR(full, published["V_200"], 0.0005);
  EXPECT_NEAR(full / given["loads_ohm"][2].get<double>(), published["I_200_A"], 5e-6);
  EXPECT_NEAR(100 * regulation(none, full), exact["regulation_pct"], 0.01);
  EXPECT_NEAR(100 * regulation(published["V_no_load"], published["V_200"]), exact["regulation_pct"], 1e-9);
  EXPECT_NEAR(none, exact["thevenin_V"], 1e-9);
  EXPECT_NEAR(light, exact["V_1k"], 1e-9);
  EXPECT_NEAR(full, exact["V_200"], 1e-9);
}

TEST(Network, TightWindingsAreExact) {  // coupling 1 has no admittance matrix
  Network network;
  const Node primary = network.add_node(), secondary = network.add_node();
  network.add_source(kReference, primary, 120, 0);
  network.add_windings(primary, kReference, {0, 4000}, secondary, kReference, {0, 160}, {0, 800});
  network.add_impedance(secondary, kReference, 14.4);
  const auto found = network.solve();
  ASSERT_TRUE(found);
  EXPECT_NEAR(std::abs(found->volts[secondary]), 24, 1e-9);
}

TEST(Network, ZeroOhmsJoinExactly) {
  Network network;
  const Node a = network.add_node(), b = network.add_node();
  network.add_source(kReference, a, 24, 1);
  const Branch joint = network.add_impedance(a, b, 0);
  network.add_impedance(b, kReference, 23);
  const auto found = network.solve();
  ASSERT_TRUE(found);
  EXPECT_NEAR(found->amps[joint].real(), 1, 1e-12);
  EXPECT_EQ(found->volts[a], found->volts[b]);
}

TEST(Network, APartInTheAirIsHeldAndCarriesNothing) {
  Network network;
  const Node live = network.add_node(), a = network.add_node(), b = network.add_node();
  network.add_source(kReference, live, 24, 1);
  network.add_impedance(live, kReference, 23);
  const Branch floating = network.add_impedance(a, b, 50);
  const auto found = network.solve();
  ASSERT_TRUE(found);
  EXPECT_EQ(found->amps[floating], 0.0);
  EXPECT_NEAR(found->volts[live].real(), 23, 1e-12);
}

TEST(Network, SaysWhenThereIsNoAnswer) {
  Network loop;
  const Node a = loop.add_node();
  loop.add_impedance(a, kReference, 0);
  loop.add_impedance(a, kReference, 0);
  EXPECT_FALSE(loop.solve());
  Network shorted;
  const Node b = shorted.add_node();
  shorted.add_source(kReference, b, 24, 0);
  shorted.add_impedance(b, kReference, 0);
  EXPECT_FALSE(shorted.solve());
  Network unknown;
  const Node c = unknown.add_node();
  unknown.add_source(kReference, c, 24, std::numeric_limits<double>::quiet_NaN());
  unknown.add_impedance(c, kReference, 10);
  EXPECT_FALSE(unknown.solve());
  EXPECT_TRUE(Network().solve());  // nothing to solve
}

// Tellegen: in any network the powers of all elements add up to nothing, whatever the values.
TEST(Network, PowersAddUpToNothing) {
  Network network;
  std::vector<Node> nodes{kReference};
  for (int i = 0; i < 12; ++i) nodes.push_back(network.add_node());
  std::vector<std::pair<Node, Node>> ends;
  std::vector<Phasor> raised;
  for (int i = 0; i < 13; ++i)
    for (int j = i + 1; j < 13; j += 2) {
      ends.emplace_back(nodes[i], nodes[j]);
      raised.emplace_back((i * j) % 5 == 0 ? 24.0 : 0.0);
      network.add_source(nodes[i], nodes[j], raised.back(), Impedance(1 + i * 7 % 5, j * 3 % 4));
    }
  const auto found = network.solve();
  ASSERT_TRUE(found);
  Phasor power = 0;
  double size = 0;
  for (std::size_t i = 0; i < ends.size(); ++i) {
    const Phasor across = found->volts[ends[i].first] - found->volts[ends[i].second];
    power += across * std::conj(found->amps[i]);
    size += std::abs(across * found->amps[i]);
  }
  EXPECT_GT(size, 100);
  EXPECT_LT(std::abs(power), 1e-12 * size);
}

}  // namespace
}  // namespace coilward::circuit
