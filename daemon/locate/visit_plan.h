// Which test reading to take next, so that the least work is to be expected until the fault is found:
// walking, opening boxes, readings, and at the end the digging or splicing at the places that are left.
// Arithmetic alone; knows nothing of wires. Thread: any.
#pragma once

#include <cstdint>
#include <vector>

namespace coilward {

inline constexpr int kMostVisitPlaces = 64;
using VisitSet = std::uint64_t;  // of places, by position

struct VisitPlace {
  double probability = 0;
  int stop = 0;         // where one stands for it
  double minutes = 0;   // to look after it there, be it the one or not
  bool in_box = false;  // the box at the stop must be open
};

// A reading with two outcomes, each certain once the place is known.
struct VisitTest {
  int stop = 0;
  double minutes = 0;
  int setup = 0;       // what must be connected at the controller: 0 nothing, else the number of a conductor
  VisitSet first = 0;  // the places that give the first outcome
};

struct VisitProblem {
  std::vector<VisitPlace> places;  // at most kMostVisitPlaces
  std::vector<VisitTest> tests;
  std::vector<double> walk;  // by stop: minutes from the controller
  double open_minutes = 0;   // each box once
  double setup_minutes = 0;
  std::uint64_t open = 1;  // stops whose box is open already; the controller is
  int at = 0;              // where the technician stands
  int setup = 0;
};

struct VisitPlan {
  int test = -1;       // position in tests; -1: no reading helps, look after the places in turn
  double minutes = 0;  // expected until the fault is found and mended
  double first = 0;    // of that, the reading itself with the way to it
  // false: too many states. The better of the best plan among those that connect nothing at the controller
  // until few places are left, and of looking one step ahead.
  bool exact = true;
  double at_least = 0;  // what no order of readings can be below
};

// Until so many states the plan is the best there is (dynamic programming over what is left, where one
// stands, which boxes are open).
inline constexpr std::size_t kMostVisitStates = 10'000;
VisitPlan plan_visit(const VisitProblem& problem, std::size_t most_states = kMostVisitStates);

// The order in which to look after the places of a set until the fault is found: the best of three. From
// `at`, with the boxes in `open` open.
std::vector<int> search_order(const VisitProblem& problem, VisitSet left, int at, std::uint64_t open);
// What that takes; not normalised: times the probability of the set.
double search_minutes(const VisitProblem& problem, VisitSet left, int at, std::uint64_t open);
// From one state to having taken a reading.
double test_minutes(const VisitProblem& problem, const VisitTest& test, int at, std::uint64_t open,
                    int setup);

}  // namespace coilward
