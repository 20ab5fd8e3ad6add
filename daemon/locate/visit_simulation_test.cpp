// A thousand broken wires, and what it takes to find them: by what locate proposes, by the best that
// enumeration can do, and by two habits of the trade.
#include <gtest/gtest.h>

#include <bit>
#include <cmath>
#include <iostream>
#include <unordered_map>

#include "daemon/locate/broken_site.h"
#include "daemon/locate/visit_plan.h"

namespace coilward {
namespace {

// Where the technician is, and how long it has taken.
struct Visit {
  int at = 0, setup = 0;
  std::uint64_t open = 1;
  double minutes = 0;

  void take(const VisitProblem& p, const VisitTest& test) {
    minutes += test_minutes(p, test, at, open, setup);
    at = test.stop;
    setup = test.setup;
    open |= std::uint64_t{1} << at;
  }
  void look(const VisitProblem& p, const VisitPlace& place) {
    minutes += std::abs(p.walk[static_cast<std::size_t>(place.stop)] - p.walk[static_cast<std::size_t>(at)]) +
               place.minutes;
    const std::uint64_t box = std::uint64_t{1} << place.stop;
    if (place.in_box && (open & box) == 0) minutes += p.open_minutes, open |= box;
    at = place.stop;
  }
  void search(const VisitProblem& p, VisitSet left, int truth) {
    for (int i : search_order(p, left, at, open)) {
      look(p, p.places[static_cast<std::size_t>(i)]);
      if (i == truth) return;
    }
  }
};

VisitSet everything(const BrokenSite& site) { return (VisitSet{1} << site.suspects.size()) - 1; }

// ---- the best there is: every reading and every look at a place, in every order.
class Enumeration {
 public:
  explicit Enumeration(const BrokenSite& site) : p_(site.problem) {}

  struct Best {
    double minutes = 0;  // times the probability of the set
    int action = 0;      // a test, or places behind the tests
  };

  const Best& best(VisitSet left, const Visit& v) {
    const std::uint64_t key = (left << 24) | (v.open << 8) | static_cast<std::uint64_t>(v.at * 4 + v.setup);
    if (const auto known = known_.find(key); known != known_.end()) return known->second;
    Best best{1e300, 0};
    const double mass = mass_of(left);
    const auto consider = [&](double minutes, int action) {
      if (minutes < best.minutes) best = {minutes, action};
    };
    for (std::size_t i = 0; i < p_.tests.size(); ++i) {
      const VisitSet first = left & p_.tests[i].first, second = left & ~p_.tests[i].first;
      if (first == 0 || second == 0) continue;
      Visit next = v;
      next.minutes = 0;
      next.take(p_, p_.tests[i]);
      consider(mass * next.minutes + this->best(first, next).minutes + this->best(second, next).minutes,
               static_cast<int>(i));
    }
    for (VisitSet set = left; set != 0; set &= set - 1) {
      const int i = std::countr_zero(set);
      Visit next = v;
      next.minutes = 0;
      next.look(p_, p_.places[static_cast<std::size_t>(i)]);
      const VisitSet rest = left & ~(VisitSet{1} << i);
      consider(mass * next.minutes + (rest == 0 ? 0 : this->best(rest, next).minutes),
               static_cast<int>(p_.tests.size()) + i);
    }
    return known_.emplace(key, best).first->second;
  }

  double walk(VisitSet left, int truth) {
    Visit v;
    for (;;) {
      const int action = best(left, v).action, tests = static_cast<int>(p_.tests.size());
      if (action >= tests) {
        v.look(p_, p_.places[static_cast<std::size_t>(action - tests)]);
        if (action - tests == truth) return v.minutes;
        left &= ~(VisitSet{1} << (action - tests));
        continue;
      }
      const VisitTest& test = p_.tests[static_cast<std::size_t>(action)];
      v.take(p_, test);
      left &= (test.first >> truth & 1) != 0 ? test.first : ~test.first;
    }
  }

 private:
  double mass_of(VisitSet set) const {
    double sum = 0;
    for (; set != 0; set &= set - 1)
      sum += p_.places[static_cast<std::size_t>(std::countr_zero(set))].probability;
    return sum;
  }
  const VisitProblem& p_;
  std::unordered_map<std::uint64_t, Best> known_;
};

int test_of(const BrokenSite& site, const NextReading& ask) {
  for (std::size_t i = 0; i < site.asks.size(); ++i) {
    const NextReading& a = site.asks[i];
    if (a.kind == ask.kind && a.at == ask.at &&
        (a.kind != ReadingKind::source_volts || a.conductor == ask.conductor))
      return static_cast<int>(i);
  }
  ADD_FAILURE() << "a reading that is not on the list";
  return 0;
}

struct Proposed {
  double minutes = 0;
  int readings = 0;
  bool right = false;  // the place said first is the one
};

// Takes what is proposed until nothing is, then looks after the places as they are said.
Proposed by_proposal(const BrokenSite& site, int truth) {
  LocateInput input{site.config, site.finding, site.neighbours, kNotMeasured, {}};
  Visit v;
  Location found = locate_fault(input);
  while (found.next && input.readings.size() < 20) {
    v.take(site.problem, site.problem.tests[static_cast<std::size_t>(test_of(site, *found.next))]);
    input.readings.push_back(site.measured_at(*found.next, truth));
    found = locate_fault(input);
  }
  VisitProblem said = site.problem;
  for (std::size_t i = 0; i < site.suspects.size(); ++i) {
    said.places[i].probability = 1e-6;
    for (const Place& p : found.places)
      if (p.same_spot(site.suspects[i].place)) said.places[i].probability = p.probability;
  }
  v.search(said, everything(site), truth);
  const bool right = found.places.front().same_spot(site.suspects[static_cast<std::size_t>(truth)].place);
  return {v.minutes, static_cast<int>(input.readings.size()), right};
}

// Volts box by box, from one end, until the answer changes; then whatever is left, in the best order.
double by_habit(const BrokenSite& site, int truth, bool from_valve) {
  Visit v;
  VisitSet left = everything(site);
  const int n = site.path.last();
  for (int step = 0; step <= n; ++step) {
    const int stop = from_valve ? n - step : step;
    for (std::size_t i = 0; i < site.asks.size(); ++i) {
      const VisitTest& test = site.problem.tests[i];
      if (site.asks[i].kind != ReadingKind::volts_on || test.stop != stop) continue;
      v.take(site.problem, test);
      const bool dead = (test.first >> truth & 1) != 0;
      left &= dead ? test.first : ~test.first;
      if (dead != from_valve) {
        v.search(site.problem, left, truth);
        return v.minutes;
      }
    }
  }
  v.search(site.problem, left, truth);
  return v.minutes;
}

TEST(VisitSimulation, AThousandBreaksAreFoundWithHardlyMoreThanTheLeastWork) {
  constexpr int kSites = 50, kBreaks = 20;
  double proposed = 0, best = 0, from_valve = 0, from_controller = 0, readings = 0, own_work = 0;
  int right = 0;
  for (unsigned seed = 0; seed < kSites; ++seed) {
    BrokenSite site(seed);
    Enumeration enumeration(site);
    for (int i = 0; i < kBreaks; ++i) {
      const int truth = site.break_one();
      const Proposed ours = by_proposal(site, truth);
      proposed += ours.minutes;
      readings += ours.readings;
      right += ours.right;
      best += enumeration.walk(everything(site), truth);
      from_valve += by_habit(site, truth, true);
      from_controller += by_habit(site, truth, false);
      own_work += site.problem.places[static_cast<std::size_t>(truth)].minutes;
    }
  }
  constexpr double kAll = kSites * kBreaks;
  // Digging at the place itself is the same for all; what is left is the search.
  std::cout << "minutes a break, digging at the very place (" << own_work / kAll << ") included: proposed "
            << proposed / kAll << ", best " << best / kAll << ", from the valve back " << from_valve / kAll
            << ", box by box from the controller " << from_controller / kAll << "\nwithout that: proposed "
            << (proposed - own_work) / kAll << ", best " << (best - own_work) / kAll << ", from the valve "
            << (from_valve - own_work) / kAll << ", from the controller "
            << (from_controller - own_work) / kAll << "; readings " << readings / kAll << ", right at first "
            << right / kAll << "\n";
  EXPECT_LE(proposed, 1.05 * best);
  EXPECT_LE(proposed - own_work, 1.05 * (best - own_work));
  EXPECT_LT(proposed, from_valve);
  EXPECT_LT(proposed, from_controller);
  // Where two places are as quickly mended as told apart, the first may be the wrong one.
  EXPECT_GT(right / kAll, 0.85);
}

}  // namespace
}  // namespace coilward
