#include "daemon/runs/level.h"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>

namespace coilward {
namespace {

nlohmann::json reference(const std::string& name) {
  std::ifstream file(COILWARD_SOURCE_DIR "/tests/reference/stats/" + name);
  return nlohmann::json::parse(file);
}

// R MASS data sets chem and abbey, computed with R's median() and mad(); tests/reference/stats/SOURCE.md.
TEST(Level, MedianAndScaledMadAreThoseOfR) {
  const auto json = reference("robust_location.json");
  for (const char* set : {"chem", "abbey"}) {
    auto x = json.at(set).at("x").get<std::vector<double>>();
    const double middle = median(x);
    EXPECT_NEAR(middle, json.at(set).at("median").get<double>(), 1e-6) << set;
    EXPECT_NEAR(scaled_mad(x, middle), json.at(set).at("mad_x_1.4826").get<double>(), 1e-6) << set;
  }
}

// NIST StRD linear regression, Norris: certified slope to ten digits.
TEST(Level, SlopeIsTheCertifiedOne) {
  const auto norris = reference("nist_strd/certified.json").at("Norris");
  const auto x = norris.at("x").get<std::vector<double>>(), y = norris.at("y").get<std::vector<double>>();
  EXPECT_NEAR(slope(x, y), 1.00211681802045, 1e-10);
}

TEST(Level, OfNothingIsNothing) {
  std::vector<double> none;
  EXPECT_TRUE(std::isnan(median(none)));
  EXPECT_TRUE(std::isnan(scaled_mad(none, 0)));
  EXPECT_EQ(slope(none, none), 0);
}

TEST(Level, SlopeOfOnePlaceIsLevel) {
  const std::vector<double> x = {2, 2, 2}, y = {1, 5, 9};
  EXPECT_EQ(slope(x, y), 0);
}

}  // namespace
}  // namespace coilward
