#include "daemon/circuit/wire.h"

#include <gtest/gtest.h>

#include "daemon/circuit/network.h"
#include "daemon/circuit/reference_data.h"

namespace coilward::circuit {
namespace {

constexpr double kMmPerInch = 25.4;
constexpr double kMetresPerKft = 1000 * kMetresPerFoot;

void expect_within(double value, double expected, double share) {
  EXPECT_NEAR(value, expected, share * std::abs(expected));
}

TEST(Wire, HasTheDefiningDiameters) {
  EXPECT_NEAR(awg_diameter_mm(36) / kMmPerInch, 0.005, 1e-9);
  EXPECT_NEAR(awg_diameter_mm(-3) / kMmPerInch, 0.46, 1e-9);  // 4/0
}

TEST(Wire, AgreesWithTheTableAt20Celsius) {
  const auto rows = reference_table("wire/awg_20c.csv");
  ASSERT_EQ(rows.size(), 6u);
  for (const auto& row : rows) {
    const int awg = std::stoi(row.text("awg"));
    SCOPED_TRACE(awg);
    const double inches = awg_diameter_mm(awg) / kMmPerInch, ohms = ohms_per_metre(awg_square_mm(awg));
    EXPECT_NEAR(inches, row.number("diameter_in_formula"), row.half_digit("diameter_in_formula"));
    EXPECT_NEAR(inches, row.number("diameter_in_table"), row.half_digit("diameter_in_table"));
    EXPECT_NEAR(awg_diameter_mm(awg), row.number("diameter_mm_formula"),
                row.half_digit("diameter_mm_formula"));
    expect_within(ohms * kMetresPerKft, row.number("ohm_per_kft_20C_table"), 0.001);
    expect_within(ohms * 1000, row.number("ohm_per_km_20C_table"), 0.001);
    EXPECT_NEAR(ohms * 1000, row.number("ohm_per_km_20C_iacs"), row.half_digit("ohm_per_km_20C_iacs"));
    EXPECT_NEAR(row.number("ohm_per_kft_20C_table") / (ohms * kMetresPerKft) - 1,
                row.number("rel_diff_table_vs_iacs"), 5e-6);
  }
}

TEST(Wire, AgreesWithTheTableAt75CelsiusSolidAndStranded) {
  const auto rows = reference_table("wire/nec_ch9_table8_75c.csv");
  ASSERT_EQ(rows.size(), 10u);
  for (const auto& row : rows) {
    const int awg = std::stoi(row.text("awg"));
    const bool stranded = row.text("stranding") == "stranded";
    SCOPED_TRACE(row.text("awg") + " " + row.text("stranding"));
    const double kft =
        kMetresPerKft * ohms_per_metre(awg_square_mm(awg), 75, stranded ? Strands::seven : Strands::solid);
    expect_within(kft, row.number("ohm_per_kft_75C_uncoated_cu"), stranded ? 0.006 : 0.005);
    expect_within(kft, row.number("predicted_from_20C_table"), 0.001);
    expect_within(square_mm_from_circular_mils(row.number("circular_mils")), awg_square_mm(awg), 0.003);
  }
}

TEST(Wire, ColdCopperFollowsTheInferredZero) {
  EXPECT_NEAR(20 - 1 / kCopper.per_kelvin, -234.5, 0.1);
  EXPECT_NEAR(resistance_ratio(20 - 1 / kCopper.per_kelvin), 0, 1e-12);
  const auto nec = worked_example("wire/worked_examples.json", "nec-75C-to-20C");
  expect_within(nec["given"]["ohm_per_kft_75C"].get<double>() / resistance_ratio(75),
                nec["published"]["ohm_per_kft_20C"], nec["tolerance_rel"]);
  EXPECT_NEAR(resistance_ratio(80), 1.236, 0.0005);  // a coil 60 K above 20 Cel
}

// A battery, two wires and a load, at 20 and at 35 Cel.
TEST(Wire, WarmWiresTakeTheVoltsTheTextbookSays) {
  const auto example = worked_example("wire/worked_examples.json", "liec-dc-12-temperature");
  const auto& given = example["given"];
  const Metal metal{kCopper.ohm_square_mm_per_metre, given["alpha_cu_per_C"]};
  const auto volts = [&](double celsius) {
    const double ratio = resistance_ratio(celsius, metal);
    Network network;
    const Node plus = network.add_node(), load = network.add_node(), back = network.add_node();
    network.add_source(kReference, plus, given["battery_V"].get<double>(), 0);
    network.add_impedance(plus, load, ratio * given["wire1_ohm_20C"].get<double>());
    network.add_impedance(load, back, given["load_ohm"].get<double>());
    network.add_impedance(back, kReference, ratio * given["wire2_ohm_20C"].get<double>());
    const auto found = network.solve();
    EXPECT_TRUE(found);
    return std::pair{(found->volts[load] - found->volts[back]).real(), found->volts[back].real()};
  };
  const auto& published = example["published"];
  EXPECT_NEAR(volts(20).first, published["load_V_20C"], 0.005);
  EXPECT_NEAR(volts(20).second, published["drop_each_wire_V_20C"], 0.005);
  EXPECT_NEAR(volts(given["T_C"]).first, published["load_V_35C"], 0.005);
  EXPECT_NEAR(volts(given["T_C"]).second, published["drop_each_wire_V_35C"], 0.005);
  EXPECT_NEAR(volts(given["T_C"]).first, example["exact"]["load_V_35C"], 1e-9);
}

// The textbook counts in ohms of a foot of wire one circular mil thick.
Metal textbook_copper(double ohm_cmil_per_foot) {
  return {ohm_cmil_per_foot * square_mm_from_circular_mils(1) / kMetresPerFoot, kCopper.per_kelvin};
}

TEST(Wire, RoundTripOfALongLine) {
  const auto example = worked_example("wire/worked_examples.json", "liec-dc-12-14awg");
  const auto &given = example["given"], &published = example["published"];
  const double each = metres_from_feet(given["length_ft_each_way"]) *
                      ohms_per_metre(square_mm_from_circular_mils(given["awg14_cmil"]), 20, Strands::solid,
                                     textbook_copper(given["rho_ohm_cmil_per_ft"]));
  EXPECT_NEAR(each, published["R_each_way_ohm"], 0.0006);
  EXPECT_NEAR(2 * each, published["R_loop_ohm"], 0.0006);
  EXPECT_NEAR(given["source_V"].get<double>() / (2 * each), published["short_circuit_A"], 0.0006);
  EXPECT_NEAR(each, example["exact"]["R_each_way_ohm"], 1e-9);
  expect_within(awg_square_mm(14), square_mm_from_circular_mils(given["awg14_cmil"]), 2e-4);
}

TEST(Wire, SizeForADrop) {
  const auto example = worked_example("wire/worked_examples.json", "liec-dc-12-size-for-drop");
  const auto& given = example["given"];
  const double needed = square_mm_for(given["R_max_ohm"], metres_from_feet(given["length_ft"]),
                                      textbook_copper(given["rho_ohm_cmil_per_ft"]));
  EXPECT_NEAR(needed / square_mm_from_circular_mils(1), example["published"]["area_cmil"].get<double>(), 0.5);
  EXPECT_EQ(awg_with_at_least(needed), -1);  // 2/0
  EXPECT_EQ(awg_with_at_least(awg_square_mm(18)), 18);
  EXPECT_EQ(awg_with_at_least(1000), kThickestAwg - 1);
}

TEST(Wire, FeetAndMetres) {
  EXPECT_DOUBLE_EQ(metres_from_feet(1000), 304.8);
  EXPECT_DOUBLE_EQ(feet_from_metres(metres_from_feet(123.4)), 123.4);
}

}  // namespace
}  // namespace coilward::circuit
