#include "daemon/locate/visit_plan.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <unordered_map>

namespace coilward {
namespace {

std::uint64_t bit(int i) { return std::uint64_t{1} << i; }
bool has(std::uint64_t set, int i) { return (set & bit(i)) != 0; }

struct VisitState {
  VisitSet left = 0;
  std::uint64_t open = 1;
  int at = 0, setup = 0;
  bool operator==(const VisitState&) const = default;
};

struct VisitStateHash {
  std::size_t operator()(const VisitState& s) const {
    std::uint64_t h = s.left * 0x9e3779b97f4a7c15U;  // Knuth, TAOCP 6.4: multiplicative hashing
    h = (h ^ (h >> 29) ^ s.open) * 0xbf58476d1ce4e5b9U;
    return static_cast<std::size_t>(h ^ (h >> 32) ^ static_cast<std::uint64_t>(s.at * 4 + s.setup));
  }
};

// For a plan that is not exact: few places, and how many times the states, as each takes less.
constexpr int kFewPlaces = 3;
constexpr std::size_t kLimitedTimes = 2;

struct VisitChoice {
  double minutes = 0;  // not normalised: times the probability of the set
  int test = -1;
};

class VisitPlanner {
 public:
  VisitPlanner(const VisitProblem& problem, std::size_t most_states)
      : problem_(problem), most_states_(most_states) {}

  VisitPlan plan() {
    VisitState start{all(), problem_.open, problem_.at, problem_.setup};
    VisitPlan plan;
    const double mass = mass_of(start.left);
    VisitChoice choice = best(start);
    if (over_) {
      plan.exact = over_ = false;
      limited_ = true;
      known_.clear();
      choice = best(start);
      if (const VisitChoice other = by_one_step(start); over_ || other.minutes < choice.minutes)
        choice = other;
    }
    plan.test = choice.test;
    plan.minutes = choice.minutes / mass;
    if (choice.test >= 0)
      plan.first = test_minutes(problem_, problem_.tests[static_cast<std::size_t>(choice.test)], start.at,
                                start.open, start.setup);
    for (const VisitPlace& place : problem_.places) plan.at_least += place.probability * place.minutes / mass;
    return plan;
  }

 private:
  VisitSet all() const {
    const auto n = problem_.places.size();
    return n >= 64 ? ~VisitSet{0} : bit(static_cast<int>(n)) - 1;
  }
  double mass_of(VisitSet set) const {
    double sum = 0;
    for (; set != 0; set &= set - 1)
      sum += problem_.places[static_cast<std::size_t>(std::countr_zero(set))].probability;
    return sum;
  }
  bool splits(const VisitTest& test, VisitSet left) const {
    return (left & test.first) != 0 && (left & ~test.first) != 0;
  }
  // What needs something connected parts the places anywhere on the way, and so makes every box matter: in a
  // limited plan only at the last few places' own stops.
  bool considered(const VisitTest& test, VisitSet left) const {
    if (!splits(test, left)) return false;
    if (!limited_ || test.setup == 0) return true;
    if (std::popcount(left) > kFewPlaces) return false;
    for (; left != 0; left &= left - 1)
      if (problem_.places[static_cast<std::size_t>(std::countr_zero(left))].stop == test.stop) return true;
    return false;
  }

  // Boxes that no reading and no place needs any more are not told apart.
  VisitState canonical(VisitState s) const {
    std::uint64_t needed = 0;
    for (const VisitTest& test : problem_.tests)
      if (considered(test, s.left)) needed |= bit(test.stop);
    for (VisitSet set = s.left; set != 0; set &= set - 1)
      needed |= bit(problem_.places[static_cast<std::size_t>(std::countr_zero(set))].stop);
    s.open &= needed;
    return s;
  }

  VisitState after(const VisitState& s, const VisitTest& test, VisitSet left) const {
    return {left, s.open | bit(test.stop), test.stop, test.setup};
  }

  VisitChoice best(const VisitState& given) {
    const VisitState s = canonical(given);
    if (const auto known = known_.find(s); known != known_.end()) return known->second;
    VisitChoice choice{search_minutes(problem_, s.left, s.at, s.open), -1};
    if (std::popcount(s.left) > 1) try_tests(s, choice);
    if (known_.size() >= (limited_ ? kLimitedTimes * most_states_ : most_states_))
      over_ = true;
    else
      known_.emplace(s, choice);
    return choice;
  }

  void try_tests(const VisitState& s, VisitChoice& choice) {
    const double mass = mass_of(s.left);
    for (std::size_t i = 0; i < problem_.tests.size() && !over_; ++i) {
      const VisitTest& test = problem_.tests[i];
      if (!considered(test, s.left)) continue;
      double minutes = mass * test_minutes(problem_, test, s.at, s.open, s.setup);
      if (minutes >= choice.minutes) continue;
      minutes += best(after(s, test, s.left & test.first)).minutes;
      if (minutes >= choice.minutes) continue;
      minutes += best(after(s, test, s.left & ~test.first)).minutes;
      if (minutes < choice.minutes - 1e-9) choice = {minutes, static_cast<int>(i)};
    }
  }

  // What a set may still cost: its own work, and a reading for every bit that is not known.
  double guess(VisitSet left) const {
    const double mass = mass_of(left);
    double sum = 0;
    for (VisitSet set = left; set != 0; set &= set - 1) {
      const VisitPlace& place = problem_.places[static_cast<std::size_t>(std::countr_zero(set))];
      sum += place.probability * (place.minutes + usual_reading() * std::log2(mass / place.probability));
    }
    return sum;
  }
  double usual_reading() const {
    double sum = 0;
    for (const VisitTest& test : problem_.tests) sum += test.minutes + problem_.open_minutes;
    return problem_.tests.empty() ? 0 : sum / static_cast<double>(problem_.tests.size());
  }

  VisitChoice by_one_step(const VisitState& s) const {
    VisitChoice choice{search_minutes(problem_, s.left, s.at, s.open), -1};
    const double mass = mass_of(s.left), search = choice.minutes;
    for (std::size_t i = 0; i < problem_.tests.size(); ++i) {
      const VisitTest& test = problem_.tests[i];
      if (!splits(test, s.left)) continue;
      const double minutes = mass * test_minutes(problem_, test, s.at, s.open, s.setup) +
                             guess(s.left & test.first) + guess(s.left & ~test.first);
      if (minutes < choice.minutes) choice = {minutes, static_cast<int>(i)};
    }
    if (choice.test < 0) return choice;
    const VisitTest& test = problem_.tests[static_cast<std::size_t>(choice.test)];
    const double goes = mass * test_minutes(problem_, test, s.at, s.open, s.setup) +
                        by_one_step(after(s, test, s.left & test.first)).minutes +
                        by_one_step(after(s, test, s.left & ~test.first)).minutes;
    return goes < search ? VisitChoice{goes, choice.test} : VisitChoice{search, -1};
  }

  const VisitProblem& problem_;
  const std::size_t most_states_;
  std::unordered_map<VisitState, VisitChoice, VisitStateHash> known_;
  bool over_ = false, limited_ = false;
};

double in_order(const VisitProblem& problem, const std::vector<int>& order, int at, std::uint64_t open) {
  double left = 0, sum = 0;
  for (int i : order) left += problem.places[static_cast<std::size_t>(i)].probability;
  for (int i : order) {
    const VisitPlace& place = problem.places[static_cast<std::size_t>(i)];
    double minutes = std::abs(problem.walk[static_cast<std::size_t>(place.stop)] -
                              problem.walk[static_cast<std::size_t>(at)]) +
                     place.minutes;
    if (place.in_box && !has(open, place.stop)) minutes += problem.open_minutes, open |= bit(place.stop);
    sum += left * minutes;
    left -= place.probability;
    at = place.stop;
  }
  return sum;
}

}  // namespace

VisitPlan plan_visit(const VisitProblem& problem, std::size_t most_states) {
  return VisitPlanner(problem, most_states).plan();
}

std::vector<int> search_order(const VisitProblem& problem, VisitSet left, int at, std::uint64_t open) {
  std::vector<int> order;
  for (; left != 0; left &= left - 1) order.push_back(std::countr_zero(left));
  if (order.size() == 1) return order;
  const auto place = [&](int i) -> const VisitPlace& { return problem.places[static_cast<std::size_t>(i)]; };
  std::vector<int> best = order;
  double least = -1;
  const auto consider = [&](auto key) {
    std::ranges::stable_sort(order, {}, key);
    const double minutes = in_order(problem, order, at, open);
    if (least < 0 || minutes < least) least = minutes, best = order;
  };
  consider([&](int i) { return static_cast<double>(place(i).stop); });
  consider([&](int i) { return -static_cast<double>(place(i).stop); });
  // The best order when all are equally near: by chance over work.
  consider([&](int i) { return -place(i).probability / std::max(place(i).minutes, 1e-6); });
  return best;
}

double search_minutes(const VisitProblem& problem, VisitSet left, int at, std::uint64_t open) {
  return in_order(problem, search_order(problem, left, at, open), at, open);
}

double test_minutes(const VisitProblem& problem, const VisitTest& test, int at, std::uint64_t open,
                    int setup) {
  const double here = problem.walk[static_cast<std::size_t>(at)];
  const double there = problem.walk[static_cast<std::size_t>(test.stop)];
  const double way = setup == test.setup ? std::abs(there - here) : here + there + problem.setup_minutes;
  return way + (has(open, test.stop) ? 0 : problem.open_minutes) + test.minutes;
}

}  // namespace coilward
