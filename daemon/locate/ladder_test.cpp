// What a meter would show, against the network solver with a node for every stop of both conductors.
#include "daemon/locate/ladder.h"

#include <gtest/gtest.h>

#include "daemon/circuit/network.h"
#include "daemon/circuit/site_circuit.h"
#include "daemon/draw/zone_electrics.h"
#include "daemon/locate/locate_site.h"

namespace coilward {
namespace {

using circuit::Impedance;
using circuit::Network;
using circuit::Node;

// A wire that is cut still has this between its ends, so that no node is in the air.
constexpr double kCutOhms = 1e9;

// The whole circuit written out: for every stop two nodes on each conductor, before and after its splices.
class WrittenOut {
 public:
  WrittenOut(const Config& config, const WirePath& path, const Ladder& ladder, const Condition& c,
             Conductor wire)
      : ladder_(ladder), c_(c), wire_(wire) {
    const auto ohms = [](const ConductorConfig& w) { return circuit::ohms_per_metre(w.square_mm); };
    const ZoneConfig& zone = *config.zone(path.zone);
    per_metre_[0] = ohms(zone.wire);
    per_metre_[1] = ohms(config.commons[static_cast<std::size_t>(zone.common)].wire);
    const Node output = net_.add_node();
    net_.add_source(circuit::kReference, output, ladder.volts * c.supply_factor, ladder.source_ohms);
    Node ends[2] = {series(output, 0, 0, 0), circuit::kReference};
    if (wire == Conductor::common && c.spot == 0)
      ends[1] = series(circuit::kReference, 0, 0, 1), ends[0] = output;
    points_.push_back({ends[0], ends[1]});
    for (int stop = 1; stop <= path.last(); ++stop) {
      step(ends, segment_spot(stop), path.stop(stop).metres);
      points_.push_back({ends[0], ends[1]});
      step(ends, splice_spot(stop), 0);
    }
    if (c.defect == Defect::shunt_ohms && c.spot == coil_spot(path.last())) shunt(ends[0], ends[1]);
    Impedance coils = c.defect == Defect::plunger_out ? ladder.coils_out : ladder.coils;
    if (c.defect == Defect::coil_ohms) coils *= c.ohms / std::abs(coils);
    ends[0] = series(ends[0], 0, coil_spot(path.last()), 0);
    net_.add_impedance(ends[0], ends[1], coils);
  }

  double volts(int stop) const {
    const auto solved = net_.solve();
    if (!solved) return -1;
    const auto& [zone, common] = points_[static_cast<std::size_t>(stop)];
    return std::abs(solved->volts[circuit::slot(zone)] - solved->volts[circuit::slot(common)]);
  }

 private:
  void shunt(Node zone, Node common) { net_.add_impedance(zone, common, c_.ohms); }

  // Both conductors from one point to the next; a shunt lies in the middle.
  void step(Node (&ends)[2], int spot, double metres) {
    const bool shunted = c_.defect == Defect::shunt_ohms && c_.spot == spot;
    for (int i : {0, 1}) ends[i] = series(ends[i], per_metre_[i] * metres / 2, spot, i);
    if (shunted) shunt(ends[0], ends[1]);
    for (int i : {0, 1}) ends[i] = series(ends[i], per_metre_[i] * metres / 2, -1, i);
  }

  Node series(Node from, double ohms, int spot, int conductor) {
    const bool here = spot == c_.spot && conductor == (wire_ == Conductor::common ? 1 : 0);
    if (here && c_.defect == Defect::open) ohms += kCutOhms;
    if (here && c_.defect == Defect::series_ohms) ohms += c_.ohms;
    const Node to = net_.add_node();
    net_.add_impedance(from, to, ohms);
    return to;
  }

  const Ladder& ladder_;
  const Condition& c_;
  const Conductor wire_;
  double per_metre_[2] = {0, 0};
  Network net_;
  std::vector<std::pair<Node, Node>> points_;
};

struct RandomLadder {
  explicit RandomLadder(unsigned seed) : random(seed) {
    std::vector<double> metres;
    for (int i = whole(1, 7); i > 0; --i) metres.push_back(real(3, 120));
    config = row_of_boxes(metres);
    config.supply.volts = real(20, 30);
    config.supply.volt_amps = real(20, 100);
    path = wire_path(config, static_cast<int>(metres.size()));
    ladder = ladder_of(config, path, real(0.15, 0.4));
  }
  double real(double low, double high) { return std::uniform_real_distribution(low, high)(random); }
  int whole(int low, int high) { return std::uniform_int_distribution(low, high)(random); }

  Condition condition() {
    constexpr Defect kDefects[] = {Defect::none,       Defect::open,      Defect::series_ohms,
                                   Defect::shunt_ohms, Defect::coil_ohms, Defect::plunger_out};
    Condition c;
    c.defect = kDefects[whole(0, 5)];
    const int stop = whole(1, path.last());
    c.spot = whole(0, 1) ? segment_spot(stop) : splice_spot(stop);
    if (c.defect != Defect::shunt_ohms && whole(0, 5) == 0) c.spot = whole(0, 1) ? 0 : coil_spot(path.last());
    c.ohms = std::exp(real(std::log(0.1), std::log(60)));
    c.supply_factor = real(0.85, 1.1);
    return c;
  }

  std::mt19937 random;
  Config config;
  WirePath path;
  Ladder ladder;
};

TEST(Ladder, VoltsAreThoseOfTheWholeNetwork) {
  int live = 0, dead = 0;
  for (unsigned seed = 0; seed < 3000; ++seed) {
    RandomLadder site(seed);
    const Condition c = site.condition();
    // In a series defect or break both conductors are the same to volts between them.
    const bool in_wire = c.defect == Defect::open || c.defect == Defect::series_ohms;
    const bool may_be_common = in_wire && c.spot != coil_spot(site.path.last());
    const Conductor wire = may_be_common && site.whole(0, 1) ? Conductor::common : Conductor::zone;
    const WrittenOut network(site.config, site.path, site.ladder, c, wire);
    for (int stop = 0; stop <= site.path.last(); ++stop) {
      const double ours = volts_on_at(site.ladder, stop, c), theirs = network.volts(stop);
      ASSERT_NEAR(ours, theirs, 1e-4) << "seed " << seed << " defect " << static_cast<int>(c.defect)
                                      << " spot " << c.spot << " stop " << stop;
      (ours > 5 ? live : dead)++;
    }
  }
  EXPECT_GT(live, 3000);
  EXPECT_GT(dead, 500);
}

// The site's model of the circuit stage, which the diagnosis reasons with.
circuit::SiteLayout layout_of(const RandomLadder& site) {
  circuit::SiteLayout layout;
  layout.source_volts = site.ladder.volts;
  layout.source_ohms = site.ladder.source_ohms;
  const int n = site.path.last();
  const auto ohms = [](const ConductorConfig& w) { return circuit::ohms_per_metre(w.square_mm); };
  circuit::CommonTree tree{{-1}, {0}};
  double metres = 0;
  for (int stop = 1; stop <= n; ++stop) {
    tree.parent.push_back(stop - 1);
    tree.ohms.push_back(site.path.stop(stop).metres * ohms(site.config.commons[0].wire));
    metres += site.path.stop(stop).metres;
  }
  layout.commons = {tree};
  circuit::ZoneBranch zone;
  zone.node = n;
  zone.wire_ohms = metres * ohms(site.config.zones[0].wire);
  zone.coil = {site.ladder.coils.real(), site.ladder.coils.imag(), site.ladder.coils_out.imag()};
  layout.zones = {zone};
  return layout;
}

TEST(Ladder, AmpsAndVoltsAtTheOutputAreThoseOfTheSiteCircuit) {
  for (unsigned seed = 0; seed < 500; ++seed) {
    RandomLadder site(seed);
    const auto layout = layout_of(site);
    circuit::ZoneFault fault;
    fault.splice_ohms = site.real(0, 60);
    Condition c{Defect::series_ohms, splice_spot(site.path.last()), fault.splice_ohms, site.real(0.9, 1.1),
                1};
    const auto theirs = circuit::solve_alone(layout, 0, fault, 0, c.supply_factor);
    EXPECT_NEAR(amps_of(site.ladder, c), std::abs(theirs.zone_amps), 1e-9);
    EXPECT_NEAR(volts_on_at(site.ladder, 0, c), std::abs(theirs.zone_volts), 1e-9);
    circuit::ZoneFault out;
    out.plungers_out = 1;
    c = {Defect::plunger_out, coil_spot(site.path.last()), 0, 1, 1};
    EXPECT_NEAR(amps_of(site.ladder, c), circuit::zone_amps_alone(layout, 0, out), 1e-9);
  }
}

TEST(Ladder, OhmsThatExplainAFallAreFoundBack) {
  for (unsigned seed = 0; seed < 300; ++seed) {
    RandomLadder site(seed);
    const Condition c{Defect::series_ohms, splice_spot(1), site.real(2, 80), 1, 1};
    const double ratio = amps_of(site.ladder, c) / amps_of(site.ladder, {});
    EXPECT_NEAR(series_ohms_for(site.ladder, ratio), c.ohms, 1e-6 * c.ohms);
  }
  EXPECT_EQ(series_ohms_for(RandomLadder(1).ladder, 1.1), 0);
}

TEST(Ladder, OhmsLookOneWay) {
  const Config config = row_of_boxes({20, 60});
  const WirePath path = wire_path(config, 2);
  const Ladder ladder = ladder_of(config, path, kNotMeasured);
  const double coil = ladder.dc_ohms, far = ladder.loop_ohms(1, 2);
  const auto at_a = [&](Defect defect, int spot, double ohms) {
    return ohms_toward_valve(ladder, 1, {defect, spot, ohms, 1, 1});
  };
  EXPECT_NEAR(at_a(Defect::none, 0, 0), far + coil, 1e-9);
  EXPECT_NEAR(far,
              60 * (circuit::ohms_per_metre(circuit::awg_square_mm(18)) +
                    circuit::ohms_per_metre(circuit::awg_square_mm(14))),
              1e-9);
  // Before the box, and at the splices that were undone: nothing of it is seen.
  EXPECT_NEAR(at_a(Defect::open, segment_spot(1), 0), far + coil, 1e-9);
  EXPECT_NEAR(at_a(Defect::open, splice_spot(1), 0), far + coil, 1e-9);
  EXPECT_EQ(at_a(Defect::open, segment_spot(2), 0), kOpenOhms);
  EXPECT_EQ(at_a(Defect::open, coil_spot(2), 0), kOpenOhms);
  EXPECT_NEAR(at_a(Defect::series_ohms, splice_spot(2), 12), far + coil + 12, 1e-9);
  EXPECT_NEAR(at_a(Defect::shunt_ohms, splice_spot(2), 0.5), far + 0.5 * coil / (0.5 + coil), 1e-9);
  EXPECT_EQ(ohms_toward_controller(ladder, 1, {}), kOpenOhms);
  EXPECT_LT(ohms_toward_controller(ladder, 1, {Defect::earth_ohms, segment_spot(1), 200, 1, 1}), 201);
  EXPECT_EQ(ohms_toward_controller(ladder, 1, {Defect::earth_ohms, segment_spot(2), 200, 1, 1}), kOpenOhms);
}

}  // namespace
}  // namespace coilward
