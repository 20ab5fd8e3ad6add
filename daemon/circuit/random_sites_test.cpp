// Random sites, solved by the site model and by ngspice from a netlist written out in full.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include "daemon/circuit/ngspice.h"
#include "daemon/circuit/random_site.h"
#include "daemon/circuit/site_deck.h"

namespace coilward::circuit {
namespace {

// Four kinds in turn: healthy, faulty, leaking, crossed (with everything else).
RandomSite random_site(unsigned seed) {
  RandomSite site(seed);
  if (seed % 4 >= 1) site.add_faults();
  if (seed % 4 >= 2) site.add_leaks();
  if (seed % 4 == 3) site.add_crossings();
  return site;
}

std::vector<Phasor> in_deck_order(const Solution& found) {
  std::vector<Phasor> values = found.zone_amps;
  values.insert(values.end(), found.common_amps.begin(), found.common_amps.end());
  values.push_back(found.earth_amps);
  values.push_back(found.zone_volts);
  return values;
}

std::string deck_of(const std::vector<RandomSite>& sites) {
  std::string elements, prints;
  for (std::size_t i = 0; i < sites.size(); ++i) {
    const SiteDeck deck(fmt::format("n{}", i), sites[i].layout, sites[i].on, sites[i].faults);
    elements += deck.text + deck.earth();
    prints += deck.prints();
  }
  return "sites\n" + elements +
         ".options rshunt=1e12\n.control\nset noaskquit\nset numdgt=12\nac lin 1 60 60\n" + prints +
         "quit\n.endc\n.end\n";
}

void compare(const std::vector<RandomSite>& sites) {
  const std::string said = run_ngspice(deck_of(sites));
  const auto printed = printed_values(said);
  std::size_t next = 0;
  for (std::size_t i = 0; i < sites.size(); ++i) {
    for (const Phasor& ours : in_deck_order(solve(sites[i].layout, sites[i].on, sites[i].faults))) {
      while (next < printed.size() && printed[next].first.find('(') == std::string::npos) ++next;
      ASSERT_LT(next, printed.size()) << said.substr(0, 2000);
      const auto& [name, theirs] = printed[next++];
      // Where nothing flows theirs is what an open path of 1e12 ohm lets through.
      ASSERT_LT(std::abs(ours - theirs), 1e-5 * std::abs(theirs) + 1e-9)
          << name << " " << ours << " " << theirs;
    }
  }
}

TEST(RandomSites, TheLiveProgramAgrees) {
  if (!ngspice_installed()) GTEST_SKIP() << kNoNgspice;
  constexpr unsigned kSites = 240, kInOneDeck = 40;
  for (unsigned first = 0; first < kSites; first += kInOneDeck) {
    std::vector<RandomSite> sites;
    for (unsigned seed = first; seed < first + kInOneDeck; ++seed) sites.push_back(random_site(seed));
    compare(sites);
    ASSERT_FALSE(HasFatalFailure()) << "in sites " << first << " to " << first + kInOneDeck;
  }
}

// Always run: the closed form against the network, one zone on.
TEST(RandomSites, TheClosedFormIsTheNetworkForOneZone) {
  int drew = 0;
  for (unsigned seed = 0; seed < 4000; ++seed) {
    RandomSite site(seed);
    if (seed % 2) site.add_faults();
    const int zone = site.on.front();
    std::erase_if(site.faults.zones, [&](const auto& listed) { return listed.first != zone; });
    if (seed % 3 == 0) site.add_leaks();
    std::erase_if(site.faults.commons, [](const CommonFault& fault) { return std::isinf(fault.ohms); });
    double extra = 0;
    const auto& tree = site.layout.commons[site.layout.zones[zone].common];
    for (int node = site.layout.zones[zone].node; node >= 0; node = tree.parent[node])
      for (const CommonFault& fault : site.faults.commons)
        if (fault.common == site.layout.zones[zone].common && fault.segment == node) extra += fault.ohms;
    const ZoneFault* listed = fault_of(site.faults, zone);
    const AloneSolution alone = solve_alone(site.layout, zone, listed ? *listed : ZoneFault{}, extra,
                                            site.faults.source_factor, site.faults.copper_celsius);
    const Solution whole = solve(site.layout, std::vector{zone}, site.faults);
    SCOPED_TRACE(seed);
    EXPECT_LT(std::abs(alone.zone_amps - whole.zone_amps[zone]), 1e-10);
    EXPECT_LT(std::abs(alone.common_amps - whole.common_amps[site.layout.zones[zone].common]), 1e-10);
    EXPECT_LT(std::abs(alone.zone_volts - whole.zone_volts), 1e-9);
    EXPECT_LT(std::abs(alone.coil_volts - whole.coil_volts[zone]), 1e-9);
    EXPECT_LT(std::abs(whole.zone_amps[zone] - whole.common_amps[site.layout.zones[zone].common] -
                       whole.earth_amps),
              1e-10);
    drew += std::abs(alone.zone_amps) > 0.01;
  }
  EXPECT_GT(drew, 3000);  // not a comparison of nothings
}

// A tenth of all ohms made zero, so that whole parts of the site are dead shorts.
void short_at_random(RandomSite& site) {
  const auto maybe = [&](double& ohms) { ohms = site.chance(0.1) ? 0 : ohms; };
  if (site.chance(0.1)) site.layout.source_ohms = 0;
  for (auto& common : site.layout.commons) std::ranges::for_each(common.ohms, maybe);
  for (auto& zone : site.layout.zones) maybe(zone.wire_ohms);
  for (auto& [zone, fault] : site.faults.zones) maybe(fault.coil_short_ohms), maybe(fault.leak_ohms);
  for (auto& crossing : site.faults.crossings) maybe(crossing.ohms);
}

// What leaves the outputs comes back, by the commons or by earth, however bad the site.
TEST(RandomSites, EverySiteHasAnAnswerThatAddsUp) {
  for (unsigned seed = 0; seed < 6000; ++seed) {
    RandomSite site(seed);
    site.add_faults();
    site.add_leaks();
    site.add_crossings();
    short_at_random(site);
    const Solution found = solve(site.layout, site.on, site.faults);
    Phasor out = 0, back = found.earth_amps;
    for (const Phasor& zone : found.zone_amps) out += zone;
    for (const Phasor& common : found.common_amps) back += common;
    ASSERT_LE(std::abs(out - back), 1e-8 * (1 + std::abs(out))) << "seed " << seed;
  }
}

}  // namespace
}  // namespace coilward::circuit
