// The plan of a visit against enumeration, and against published problems of where to measure next.
#include "daemon/locate/visit_plan.h"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <functional>
#include <nlohmann/json.hpp>
#include <random>

namespace coilward {
namespace {

nlohmann::json published(const std::string& id) {
  std::ifstream file(COILWARD_SOURCE_DIR "/tests/reference/diagnosis/cases.json");
  for (const auto& example : nlohmann::json::parse(file))
    if (example.at("id") == id) return example;
  ADD_FAILURE() << "no case " << id;
  return {};
}

// Places in a row, a probe of unit cost between every two neighbours, all at one spot; looking after a place
// costs so much that it is never guessed at.
VisitProblem row_of(const std::vector<double>& chances, double work = 1000) {
  VisitProblem problem;
  problem.walk = {0};
  for (std::size_t i = 0; i < chances.size(); ++i) {
    problem.places.push_back({chances[i], 0, work, false});
    if (i > 0) problem.tests.push_back({0, 1, 0, (VisitSet{1} << i) - 1});
  }
  return problem;
}

double readings_expected(const std::vector<double>& chances) {
  return plan_visit(row_of(chances)).minutes - 1000;
}

TEST(VisitPlan, HalvesARowOfEqualPlaces) {
  const auto example = published("half-split");
  for (const auto& [n, expected] : example.at("expected").items())
    EXPECT_NEAR(readings_expected(std::vector<double>(std::stoul(n), 1.0 / std::stod(n))),
                expected.get<double>(), 1e-9)
        << n;
}

TEST(VisitPlan, ProbesTheMiddleOfFourAndBesideALikelyOne) {
  const auto equal = published("cascade-4-equal");
  EXPECT_EQ(plan_visit(row_of(equal.at("prior").get<std::vector<double>>())).test, 1);  // after B
  EXPECT_NEAR(readings_expected({0.25, 0.25, 0.25, 0.25}), equal.at("expected_tests_optimal").get<double>(),
              1e-9);
  const auto weighted = published("cascade-4-weighted").at("posterior").get<std::vector<double>>();
  EXPECT_EQ(plan_visit(row_of(weighted)).test, 0);  // after A
}

// Places in the order of the alphabet: the bound for free groupings is reached by readings along the row.
TEST(VisitPlan, ReachesHuffmansBoundWhereTheOrderAllowsIt) {
  const auto example = published("huffman-clrs");
  std::vector<double> chances;
  double sum = 0;
  for (const auto& [name, weight] : example.at("weights").items()) {
    chances.push_back(weight.get<double>());
    sum += chances.back();
  }
  for (double& p : chances) p /= sum;
  EXPECT_NEAR(readings_expected(chances) * sum, example.at("optimal_cost").get<double>(), 1e-6);
  EXPECT_EQ(example.at("optimal_cost"), example.at("alphabetic_cost_same_order"));
}

// ---- enumeration: no table of what is known, no states; every order of readings is walked through, and each
// is priced place by place.

struct Walker {
  const VisitProblem& problem;
  // The minutes of one truth are added up along its branch; a plan's price is the mean over all truths.
  double best(const std::vector<int>& left, int at, std::uint64_t open, int setup) const {
    VisitSet set = 0;
    double mass = 0;
    for (int i : left) {
      set |= VisitSet{1} << i;
      mass += problem.places[static_cast<std::size_t>(i)].probability;
    }
    double least = search_minutes(problem, set, at, open);
    for (const VisitTest& test : problem.tests) {
      std::vector<int> first, second;
      for (int i : left) ((test.first >> i & 1) != 0 ? first : second).push_back(i);
      if (first.empty() || second.empty()) continue;
      const std::uint64_t opened = open | std::uint64_t{1} << test.stop;
      const double minutes = mass * test_minutes(problem, test, at, open, setup) +
                             best(first, test.stop, opened, test.setup) +
                             best(second, test.stop, opened, test.setup);
      least = std::min(least, minutes);
    }
    return least;
  }
};

VisitProblem random_problem(unsigned seed) {
  std::mt19937 random(seed);
  const auto real = [&](double low, double high) {
    return std::uniform_real_distribution(low, high)(random);
  };
  const auto whole = [&](int low, int high) { return std::uniform_int_distribution(low, high)(random); };
  VisitProblem problem;
  const int stops = whole(1, 4), places = whole(2, 6);
  problem.walk = {0};
  for (int i = 0; i < stops; ++i) problem.walk.push_back(problem.walk.back() + real(0.1, 4));
  double sum = 0;
  for (int i = 0; i < places; ++i) {
    problem.places.push_back({real(0.05, 1), whole(0, stops), real(1, 120), whole(0, 1) == 1});
    sum += problem.places.back().probability;
  }
  for (auto& place : problem.places) place.probability /= sum;
  for (int i = whole(2, 5); i > 0; --i)
    problem.tests.push_back(
        {whole(0, stops), real(1, 8), whole(0, 2), static_cast<VisitSet>(whole(1, (1 << places) - 2))});
  problem.open_minutes = real(0, 6);
  problem.setup_minutes = real(0, 6);
  problem.at = whole(0, stops);
  return problem;
}

TEST(VisitPlan, IsTheBestOfAllOrdersOfReadings) {
  int tested = 0;
  for (unsigned seed = 0; seed < 400; ++seed) {
    const VisitProblem problem = random_problem(seed);
    std::vector<int> all;
    for (std::size_t i = 0; i < problem.places.size(); ++i) all.push_back(static_cast<int>(i));
    const VisitPlan plan = plan_visit(problem);
    EXPECT_TRUE(plan.exact);
    EXPECT_NEAR(plan.minutes, Walker{problem}.best(all, problem.at, problem.open, problem.setup), 1e-9)
        << seed;
    EXPECT_GE(plan.minutes, plan.at_least);
    tested += plan.test >= 0;
  }
  EXPECT_GT(tested, 200);
}

TEST(VisitPlan, SaysWhenItDidNotLookAtEverything) {
  int worse = 0;
  for (unsigned seed = 0; seed < 200; ++seed) {
    const VisitProblem problem = random_problem(seed);
    const VisitPlan best = plan_visit(problem), quick = plan_visit(problem, 1);
    if (best.test < 0 && quick.exact) continue;
    EXPECT_GE(quick.minutes, best.minutes - 1e-9);
    EXPECT_GE(quick.minutes, quick.at_least);
    EXPECT_LE(
        quick.minutes,
        search_minutes(problem, (VisitSet{1} << problem.places.size()) - 1, problem.at, problem.open) + 1e-9);
    worse += quick.minutes > best.minutes * 1.25;
  }
  EXPECT_LT(worse, 20);
}

// A zone wire and its common side by side, nothing known of either: more states than are looked at. What is
// then planned is hardly worse than the best.
TEST(VisitPlan, ANarrowerPlanIsNearlyAsGood) {
  for (int boxes = 3; boxes <= 5; ++boxes) {
    VisitProblem problem;
    problem.open_minutes = 3;
    problem.setup_minutes = 5;
    problem.walk = {0};
    for (int stop = 1; stop <= boxes; ++stop) {
      problem.walk.push_back(0.5 * stop);
      for (const double share : {1.0, 0.5}) problem.places.push_back({30 * share, stop, 150, false});
      for (const double share : {1.0, 1.0}) problem.places.push_back({10 * share, stop, 10, true});
    }
    const int n = 4 * boxes;
    VisitSet zone = 0;
    for (int i = 0; i < n; i += 2) zone |= VisitSet{1} << i;
    for (int stop = 1; stop <= boxes; ++stop) {
      const VisitSet before = (VisitSet{1} << (4 * stop - 2)) - 1, at = (VisitSet{1} << (4 * stop)) - 1;
      problem.tests.push_back({stop, 2, 0, before});
      problem.tests.push_back({stop, 4, 0, at});
      problem.tests.push_back({stop, 2, 1, before & zone});
      problem.tests.push_back({stop, 2, 2, before & ~zone});
    }
    const VisitPlan best = plan_visit(problem, 1'000'000), narrow = plan_visit(problem, 150);
    EXPECT_TRUE(best.exact);
    EXPECT_EQ(narrow.exact, false) << boxes;
    EXPECT_GE(narrow.minutes, best.minutes - 1e-9);
    EXPECT_LE(narrow.minutes, 1.02 * best.minutes) << boxes;
  }
}

TEST(VisitPlan, OnePlaceNeedsNoReading) {
  const VisitPlan plan = plan_visit(row_of({1.0}, 12));
  EXPECT_EQ(plan.test, -1);
  EXPECT_NEAR(plan.minutes, 12, 1e-9);
}

// Thirty boxes in a row, splices in each: the table stays small. Coming from the controller one stops before
// the middle.
TEST(VisitPlan, ALongWayIsStillPlannedExactly) {
  VisitProblem problem;
  problem.open_minutes = 3;
  for (int stop = 0; stop < 31; ++stop) problem.walk.push_back(0.5 * stop);
  for (int i = 0; i < 62; ++i) {
    problem.places.push_back({1.0 / 62, i / 2, i % 2 == 0 ? 100.0 : 8.0, i % 2 == 1});
    if (i > 0) problem.tests.push_back({i / 2, i % 2 == 0 ? 4.0 : 2.0, 0, (VisitSet{1} << i) - 1});
  }
  const VisitPlan plan = plan_visit(problem);
  EXPECT_TRUE(plan.exact);
  EXPECT_GE(plan.test, 12);
  EXPECT_LE(plan.test, 30);
}

}  // namespace
}  // namespace coilward
