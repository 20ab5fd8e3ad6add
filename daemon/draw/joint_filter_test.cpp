// The filter held against least squares, of which it is the sequential form, and against exponential
// weighting, of which it is the steady state.
#include "daemon/draw/joint_filter.h"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>

namespace coilward {
namespace {

const std::string kReference = COILWARD_SOURCE_DIR "/tests/reference/";

nlohmann::json reference(const std::string& name) {
  std::ifstream file(kReference + name);
  return nlohmann::json::parse(file);
}

// NIST StRD univariate sets; tests/reference/stats/SOURCE.md. A constant seen many times is its mean.
TEST(JointFilter, MeanIsTheCertifiedOne) {
  const auto certified = reference("stats/nist_strd/certified.json");
  for (const char* set : {"Lew", "Lottery", "Mavro", "Michelso", "NumAcc2", "NumAcc3", "NumAcc4"}) {
    std::ifstream file(kReference + "stats/nist_strd/" + set + ".txt");
    JointFilter filter;
    const std::size_t level = filter.add(0, 1e8);
    const Loading loading[] = {{level, 1.0}};
    int count = 0;
    for (double value; file >> value; ++count) filter.observe(loading, value, 1);
    EXPECT_EQ(count, certified.at(set).at("n").get<int>());
    const double mean = certified.at(set).at("mean");
    EXPECT_NEAR(filter.mean(level) / mean, 1, 1e-9) << set;
    EXPECT_NEAR(filter.variance(level) * count, 1, 1e-4) << set;
  }
}

// NIST StRD linear regression, Norris: two states at once.
TEST(JointFilter, RegressionIsTheCertifiedOne) {
  const auto norris = reference("stats/nist_strd/certified.json").at("Norris");
  JointFilter filter;
  const std::size_t offset = filter.add(0, 1e5), slope = filter.add(0, 1e5);
  for (std::size_t i = 0; i < norris.at("x").size(); ++i) {
    const Loading loadings[] = {{offset, 1.0}, {slope, norris.at("x").at(i).get<double>()}};
    filter.observe(loadings, norris.at("y").at(i), 1);
  }
  EXPECT_NEAR(filter.mean(offset), -0.262323073774029, 1e-5);
  EXPECT_NEAR(filter.mean(slope), 1.00211681802045, 1e-8);
}

// NIST e-Handbook 6.3.2.4: with the variance at which a random walk of q and noise r settle, every step
// weighs the new value by lambda = 0.3.
TEST(JointFilter, SteadyStateIsTheHandbooksExponentialWeighting) {
  const auto table = reference("spc/nist_6_3_2_4_ewma.json");
  const double lambda = table.at("lambda"), r = 1, forecast = lambda / (1 - lambda) * r;
  const double q = forecast - (1 - lambda) * forecast;
  JointFilter filter;
  const std::size_t level = filter.add(table.at("ewma0"), forecast - q);
  const Loading loading[] = {{level, 1.0}};
  for (std::size_t i = 0; i < table.at("x").size(); ++i) {
    filter.diffuse(level, q);
    filter.observe(loading, table.at("x").at(i), r);
    EXPECT_NEAR(filter.mean(level), table.at("published_ewma_2dp").at(i).get<double>(), 0.0051) << i;
  }
}

// One value says how two states differ, not where they are.
TEST(JointFilter, WhatTwoStatesShareStaysUnknown) {
  JointFilter filter;
  const std::size_t a = filter.add(0, 1), b = filter.add(0, 1);
  const Loading difference[] = {{a, 1.0}, {b, -1.0}}, sum[] = {{a, 1.0}, {b, 1.0}};
  filter.observe(difference, 3, 1e-9);
  EXPECT_NEAR(filter.forecast(difference).mean, 3, 1e-6);
  EXPECT_NEAR(filter.forecast(difference).variance, 0, 1e-6);
  EXPECT_NEAR(filter.forecast(sum).mean, 0, 1e-6);
  EXPECT_NEAR(filter.forecast(sum).variance, 2, 1e-6);
}

TEST(JointFilter, ForgettingCutsTheTies) {
  JointFilter filter;
  const std::size_t a = filter.add(0, 1), b = filter.add(0, 1);
  const Loading sum[] = {{a, 1.0}, {b, 1.0}}, only_a[] = {{a, 1.0}};
  filter.observe(sum, 2, 1e-6);
  filter.forget(b, 0, 4);
  EXPECT_NEAR(filter.forecast(only_a).mean, 1, 1e-3);
  EXPECT_NEAR(filter.forecast(sum).variance, 4.5, 1e-3);
}

TEST(JointFilter, RelaxedOftenEnoughIsStationary) {
  JointFilter filter;
  const std::size_t a = filter.add(5, 0);
  for (int i = 0; i < 200; ++i) filter.relax(a, 0.9, 1 - 0.81);
  EXPECT_NEAR(filter.mean(a), 0, 1e-6);
  EXPECT_NEAR(filter.variance(a), 1, 1e-6);
}

// Taken as a fixed point, a state says what another was: learned of afterwards, it is known better, and what
// moved since is not taken for it.
TEST(JointFilter, ACopyIsTheStateAsItWas) {
  JointFilter filter;
  const auto level = filter.add(0, 1), then = filter.add(0, 0);
  filter.copy(std::vector<Loading>{{level, 1.0}}, then);
  filter.diffuse(level, 3);
  filter.observe(std::vector<Loading>{{level, 1.0}}, 2, 0);
  EXPECT_NEAR(filter.mean(level), 2, 1e-12);
  EXPECT_NEAR(filter.mean(then), 2 * 0.25, 1e-12);  // 1 of 4 was there then
  EXPECT_NEAR(filter.variance(then), 0.75, 1e-12);
}

// By hand: two states of variance 1, their sum seen as 2 without noise; only the first may move.
TEST(JointFilter, WhatIsOnlyConsideredDoesNotMove) {
  JointFilter filter;
  filter.add(0, 1), filter.add(0, 1);
  const Loading both[] = {{0, 1.0}, {1, 1.0}};
  filter.consider(both, 2, 0, {0});
  EXPECT_NEAR(filter.mean(0), 1, 1e-12);
  EXPECT_NEAR(filter.mean(1), 0, 1e-12);
  EXPECT_NEAR(filter.variance(0), 0.5, 1e-12);
  EXPECT_NEAR(filter.variance(1), 1, 1e-12);
  EXPECT_NEAR(filter.forecast(both).variance, 0.5, 1e-12);
}

TEST(JointFilter, GoesOnFromWhatItSaved) {
  JointFilter filter, other, small;
  for (int i = 0; i < 3; ++i) filter.add(0, 1), other.add(0, 1);
  const Loading loadings[] = {{0, 1.0}, {2, 0.5}};
  filter.observe(loadings, 1.25, 0.1);
  ASSERT_TRUE(other.restore(filter.save(3)));
  EXPECT_NEAR(other.forecast(loadings).mean, filter.forecast(loadings).mean, 1e-8);
  EXPECT_NEAR(other.forecast(loadings).variance, filter.forecast(loadings).variance, 1e-8);
  EXPECT_FALSE(small.restore(filter.save(3)));
}

}  // namespace
}  // namespace coilward
