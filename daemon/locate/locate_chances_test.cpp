// Sites with a defect of unknown size, a supply and coils that are not as rated, and a meter with errors: is
// what locate says right as often as it says?
#include <gtest/gtest.h>

#include <cmath>
#include <iostream>

#include "daemon/locate/locate_site.h"

namespace coilward {
namespace {

class NoisySite {
 public:
  NoisySite(unsigned seed, Fault fault, double ratio) : random_(seed) {
    std::vector<double> metres;
    for (int i = std::uniform_int_distribution(2, 6)(random_); i > 0; --i) metres.push_back(real(5, 70));
    config = row_of_boxes(metres);
    const int zone = std::uniform_int_distribution(1, static_cast<int>(metres.size()))(random_);
    finding = finding_of(fault, {zone}, ratio);
    neighbours = others_draw(config, finding);
    path = wire_path(config, zone);
    ladder = ladder_of(config, path, kNotMeasured);
    const auto suspects = suspects_of(config, finding, path, neighbours);
    double at = real(0, 1);
    for (const Suspect& s : suspects)
      if ((at -= s.weight) < 0) {
        truth = s;
        break;
      }
    const auto sizes = sizes_of(truth, ladder, ratio);
    condition = condition_of(truth, real(sizes.front(), sizes.back()));
    condition.supply_factor = kSupplyMiddle * std::exp(kSupplySd * normal());
    condition.coil_factor = std::exp(kCoilSd * normal());
  }

  TestReading read(const NextReading& ask) {
    TestReading r = measure(ask, path, ladder, condition, truth.place.conductor);
    if (r.kind == ReadingKind::volts_on)
      r.value = r.value > 0.5 ? r.value + (0.1 + 0.008 * r.value) * normal() : std::abs(0.5 * normal());
    if (r.kind == ReadingKind::ohms && r.value < kNoPathOhms)
      r.value = std::max(0.0, r.value + std::hypot(0.2, 0.03 * r.value) * normal());
    if (r.kind == ReadingKind::source_volts && r.value > 1) r.value += 2 * normal();
    return r;
  }

  double real(double low, double high) { return std::uniform_real_distribution(low, high)(random_); }
  double normal() { return std::normal_distribution()(random_); }

  Config config;
  Finding finding;
  std::vector<Neighbour> neighbours;
  WirePath path;
  Ladder ladder;
  Suspect truth;
  Condition condition;

 private:
  std::mt19937 random_;
};

struct Tally {
  double said = 0, right = 0, odd = 0, readings = 0, solved = 0, solved_right = 0, before = 0;
};

Tally tally(Fault fault, double ratio, int sites) {
  Tally t;
  for (int seed = 0; seed < sites; ++seed) {
    NoisySite site(static_cast<unsigned>(seed), fault, ratio);
    LocateInput input{site.config, site.finding, site.neighbours, kNotMeasured, {}};
    Location found = locate_fault(input);
    t.before += found.places[0].same_spot(site.truth.place);
    while (found.next && input.readings.size() < 20) {
      input.readings.push_back(site.read(*found.next));
      found = locate_fault(input);
    }
    const bool right = found.places[0].same_spot(site.truth.place);
    t.said += found.places[0].probability;
    t.right += right;
    t.odd += !found.odd.empty();
    t.readings += static_cast<double>(input.readings.size());
    t.solved += found.solved;
    t.solved_right += found.solved && right;
  }
  std::cout << fault_name(fault) << ": said " << t.said / sites << ", right " << t.right / sites
            << " (before " << t.before / sites << "), readings " << t.readings / sites << ", solved "
            << t.solved / sites << " of which right " << t.solved_right / std::max(1.0, t.solved) << ", odd "
            << t.odd / sites << "\n";
  return t;
}

class Chances : public testing::TestWithParam<std::tuple<Fault, double>> {};

TEST_P(Chances, AreAsOftenRightAsSaid) {
  constexpr int kSites = 400;
  const auto [fault, ratio] = GetParam();
  const Tally t = tally(fault, ratio, kSites);
  // Three standard deviations of a share of that many.
  EXPECT_NEAR(t.said / kSites, t.right / kSites, 3 * 0.5 / std::sqrt(kSites));
  EXPECT_GT(t.right, t.before);
  EXPECT_LT(t.odd / kSites, 0.03);
  if (t.solved > 20) EXPECT_GT(t.solved_right / t.solved, 0.93);
}

INSTANTIATE_TEST_SUITE_P(Faults, Chances,
                         testing::Values(std::tuple(Fault::open_circuit, 0.0),
                                         std::tuple(Fault::high_resistance, 0.7),
                                         std::tuple(Fault::high_resistance, 0.85),
                                         std::tuple(Fault::shorted_coil, 12.0),
                                         std::tuple(Fault::earth_leakage, 1.2)),
                         [](const auto& info) {
                           return std::string(fault_name(std::get<0>(info.param))) + "_" +
                                  std::to_string(static_cast<int>(100 * std::get<1>(info.param)));
                         });

}  // namespace
}  // namespace coilward
