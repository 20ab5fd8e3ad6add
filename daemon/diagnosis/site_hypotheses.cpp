#include "daemon/diagnosis/site_hypotheses.h"

#include <algorithm>
#include <cmath>
#include <complex>

#include "daemon/diagnosis/zone_hypotheses.h"

namespace coilward {
namespace {

// Chance that it begins on a given day; common practice, rough. A zone's own broken wire is the
// commoner cause of one dead zone, a common of several.
constexpr double kShiftHazard = 2e-3, kLowHazard = 3e-5, kLostHazard = 3e-5;
constexpr double kCommonHazard = 1e-4, kCommonOhmsHazard = 5e-5, kCrossedHazard = 4e-5;

constexpr double kShifts[] = {0.92, 0.945, 0.97, 1.03, 1.055, 1.08};
constexpr double kLows[] = {0.88, 0.84, 0.80, 0.75, 0.70, 0.62, 0.5, 0.35};
constexpr double kCommonOhms[] = {2.5, 4, 6, 8.5, 12, 17, 24, 34, 50, 75, 120, 200};

double metres_of(const CommonSegment& segment, const Config& config) {
  return segment.box < 0 ? 1.0 : std::max(1.0, config.boxes[static_cast<std::size_t>(segment.box)].metres);
}

std::vector<int> all_zones(const SiteElectrics& site) {
  std::vector<int> zones(site.zones.size());
  for (std::size_t i = 0; i < zones.size(); ++i) zones[i] = static_cast<int>(i);
  return zones;
}

bool touches(const std::vector<int>& zones, const std::vector<int>& suspects) {
  return std::any_of(suspects.begin(), suspects.end(),
                     [&](int s) { return std::find(zones.begin(), zones.end(), s) != zones.end(); });
}

void add_supply(std::vector<SiteHypothesis>& list, const SiteElectrics& site) {
  const auto zones = all_zones(site);
  for (double factor : kShifts)
    list.push_back(
        {SiteClass::supply_shift, -1, -1, factor, zones, std::log(kShiftHazard / std::size(kShifts))});
  for (double factor : kLows)
    list.push_back({SiteClass::supply_low, -1, -1, factor, zones, std::log(kLowHazard / std::size(kLows))});
  list.push_back({SiteClass::supply_lost, -1, -1, 0, zones, std::log(kLostHazard)});
}

// Per splice and per metre alike: each stretch has one splice, worth ten metres of wire (common practice).
void add_commons(std::vector<SiteHypothesis>& list, const SiteElectrics& site, const Config& config,
                 const std::vector<int>& suspects) {
  double total = 0;
  for (const auto& segment : site.segments) total += 10 + metres_of(segment, config);
  for (std::size_t s = 0; s < site.segments.size(); ++s) {
    const auto& segment = site.segments[s];
    if (!touches(segment.zones, suspects)) continue;
    const double share = (10 + metres_of(segment, config)) / total;
    list.push_back({SiteClass::failed_common, static_cast<int>(s), segment.common, 0, segment.zones,
                    std::log(kCommonHazard * share)});
    for (double ohms : kCommonOhms)
      list.push_back({SiteClass::common_high_resistance, static_cast<int>(s), segment.common, ohms,
                      segment.zones, std::log(kCommonOhmsHazard * share / std::size(kCommonOhms))});
  }
}

// Where no boxes are configured, or not for these outputs, the dead ones themselves say what lies beyond the
// break.
void add_unplaced_common(std::vector<SiteHypothesis>& list, const SiteElectrics& site,
                         const std::vector<int>& dead) {
  for (const auto& segment : site.segments) {
    std::vector<int> unplaced;
    for (int zone : dead)
      if (site.zones[static_cast<std::size_t>(zone)].common == segment.common &&
          site.zones[static_cast<std::size_t>(zone)].box < 0)
        unplaced.push_back(zone);
    if (segment.box >= 0 || unplaced.size() < 2 || unplaced.size() == segment.zones.size()) continue;
    list.push_back(
        {SiteClass::failed_common, -1, segment.common, 0, unplaced, std::log(kCommonHazard * 0.3)});
  }
}

void add_crossed(std::vector<SiteHypothesis>& list, const SiteElectrics& site,
                 const std::vector<int>& suspects) {
  const int n = static_cast<int>(site.zones.size());
  const double each = kCrossedHazard / std::max(1.0, n * (n - 1) / 2.0);
  for (int a : suspects)
    for (int b = 0; b < n; ++b) {
      const bool other_suspect = std::find(suspects.begin(), suspects.end(), b) != suspects.end();
      if (b == a || (other_suspect && b < a)) continue;
      list.push_back({SiteClass::crossed_wires, -1, -1, 0, {std::min(a, b), std::max(a, b)}, std::log(each)});
    }
}

// Both coils hang on whichever output is on.
Prediction crossed(const ZoneElectrics& mine, const ZoneElectrics& other) {
  using Ohms = std::complex<double>;
  const Ohms hold = 1.0 / mine.hold_impedance() + 1.0 / other.hold_impedance();
  const Ohms inrush = 1.0 / mine.inrush_impedance() + 1.0 / other.inrush_impedance();
  Prediction p;
  p.hold = std::abs(hold) * std::abs(mine.hold_impedance());
  p.inrush = std::abs(inrush) * std::abs(mine.inrush_impedance());
  p.hold_tolerance = p.inrush_tolerance = 0.03;  // shared wire, source: of the second order
  return p;
}

}  // namespace

Fault fault_of(SiteClass site_class) {
  switch (site_class) {
    case SiteClass::supply_low:
    case SiteClass::supply_shift:
      return Fault::supply_low;
    case SiteClass::supply_lost:
      return Fault::supply_lost;
    case SiteClass::failed_common:
      return Fault::failed_common;
    case SiteClass::common_high_resistance:
      return Fault::common_high_resistance;
    case SiteClass::crossed_wires:
      return Fault::crossed_wires;
  }
  return Fault::supply_low;
}

bool SiteHypothesis::same_cause(const SiteHypothesis& other) const {
  if (site_class != other.site_class) return false;
  return site_class == SiteClass::crossed_wires ? zones == other.zones : common == other.common;
}

std::vector<SiteHypothesis> site_hypotheses(const SiteElectrics& site, const Config& config,
                                            const std::vector<int>& suspects, const std::vector<int>& dead) {
  std::vector<SiteHypothesis> list;
  add_supply(list, site);
  add_commons(list, site, config, suspects);
  add_unplaced_common(list, site, dead);
  add_crossed(list, site, suspects);
  return list;
}

std::optional<Prediction> effect_on(const SiteHypothesis& h, const std::vector<ZoneElectrics>& fitted,
                                    const Observation& seen) {
  if (std::find(h.zones.begin(), h.zones.end(), seen.index) == h.zones.end()) return std::nullopt;
  const auto zone = static_cast<std::size_t>(seen.index);
  Prediction p;
  switch (h.site_class) {
    case SiteClass::supply_shift:
    case SiteClass::supply_low:
      p.volts = p.zone_volts = h.size;
      p.volts_tolerance = 0.015;
      // With volts known the level is an admittance, which the supply does not change.
      p.hold = p.inrush = seen.volts_known ? 1 : h.size;
      p.hold_tolerance = p.inrush_tolerance = p.hold == 1 ? 0.005 : 0.012;
      return p;
    case SiteClass::supply_lost:
      p.volts = p.zone_volts = p.hold = p.inrush = 0;
      return p;
    case SiteClass::failed_common:
      p.hold = p.inrush = 0;
      return p;
    case SiteClass::common_high_resistance:
      p = added_ohms(fitted[zone], h.size);
      return p;
    case SiteClass::crossed_wires:
      return crossed(fitted[zone],
                     fitted[static_cast<std::size_t>(h.zones[0] == seen.index ? h.zones[1] : h.zones[0])]);
  }
  return std::nullopt;
}

}  // namespace coilward
