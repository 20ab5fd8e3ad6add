#include "daemon/diagnosis/claims.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "daemon/diagnosis/company.h"
#include "daemon/diagnosis/wording.h"
#include "daemon/locate/places.h"

namespace coilward {
namespace {

// Something is wrong with the output: so sure before anything is said. A dead or shorted zone needs no more
// than one look; levels that moved a little are weighed longer.
constexpr double kWrongHard = 0.95, kWrongSoft = 0.99;
// Of that, a fault rather than another coil that someone put in; own judgement. Said with its probability. A
// fall is told sooner than a rise: the valve may not open, and the splice gets worse.
constexpr double kFaultFell = 0.60, kFaultRose = 0.80, kFaultSoft = 0.70;
// Of a zone that did not run at its turn, which its owner will want to know either way.
constexpr double kWrongUnseen = 0.70;
// The best explanation: so likely before it is named. Of a dead zone something is always said.
constexpr double kNamedHard = 0.30, kNamedSoft = 0.60;
constexpr double kNamedToo = 0.70;
// A level that has plainly moved: so far, and by so many of its deviations; own judgement. A fall may be a
// splice's slow one.
constexpr double kPlainRise = 1.07, kPlainFall = 0.8, kPlainDeviations = 4;
// Of what is normal, so much comes back from a zone whose sensor sees nothing; own judgement.
constexpr double kComesBack = 0.5;
constexpr double kWorthMentioning = 0.002;

struct Explanation {
  bool cause = false;
  ZoneClass zone_class = ZoneClass::healthy;
  const CauseChance* chance = nullptr;
  double probability = 0;
  Fault fault() const { return cause ? fault_of(chance->best.site_class) : fault_of(zone_class); }
};

bool acts_on(const CauseChance& cause, int zone) {
  return std::find(cause.best.zones.begin(), cause.best.zones.end(), zone) != cause.best.zones.end();
}

std::vector<Explanation> explanations(const SitePosterior& posterior, int zone) {
  std::vector<Explanation> list;
  const auto& own = posterior.zone_class[static_cast<std::size_t>(zone)];
  // A full and a partial short are one fault.
  const auto full = static_cast<std::size_t>(ZoneClass::shorted_full),
             part = static_cast<std::size_t>(ZoneClass::shorted_part);
  for (std::size_t c = static_cast<std::size_t>(ZoneClass::open_circuit); c < kZoneClasses; ++c) {
    if (c == part) continue;
    list.push_back({false, static_cast<ZoneClass>(c), nullptr, c == full ? own[full] + own[part] : own[c]});
  }
  for (const auto& cause : posterior.causes)
    if (cause.best.site_class != SiteClass::supply_shift && acts_on(cause, zone))
      list.push_back({true, ZoneClass::healthy, &cause, cause.probability});
  std::stable_sort(list.begin(), list.end(),
                   [](const auto& a, const auto& b) { return a.probability > b.probability; });
  return list;
}

bool is_plain(const Observation& o) {
  if (o.dead() || o.cut_out) return true;
  const double moved = std::abs(std::log(std::max(o.hold_ratio, 0.01)));
  return measured(o.hold_ratio) && (o.hold_ratio > kPlainRise || o.hold_ratio < kPlainFall) &&
         moved > kPlainDeviations * o.hold_sd;
}

// How likely the best explanation must be. What makes a level rise is told apart by how it falls while the
// coil warms: worth the minutes until the run is over.
double named(const Observation& o, bool hard) {
  const bool may_yet_tell = !o.over && !o.dead() && !o.cut_out && o.hold_ratio > 1 && o.hold_ratio < kShort;
  return !hard ? kNamedSoft : may_yet_tell ? kNamedToo : kNamedHard;
}

double least_fault(const Observation& o, bool hard) {
  if (o.inferred) return kWrongUnseen;
  return !hard ? kFaultSoft : o.hold_ratio > 1 ? kFaultRose : kFaultFell;
}

class ClaimMaker {
 public:
  ClaimMaker(const SitePosterior& posterior, const ClaimContext& context)
      : posterior_(posterior), context_(context) {}

  std::vector<Claim> make() {
    for (int zone = 0; zone < static_cast<int>(context_.filters.size()); ++zone) consider(zone);
    return std::move(claims_);
  }

 private:
  const Observation* latest(int zone) const {
    const auto& window = context_.filters[static_cast<std::size_t>(zone)].window();
    return window.empty() ? nullptr : &window.back();
  }
  int number(int zone) const { return context_.site.zones[static_cast<std::size_t>(zone)].zone; }

  void consider(int zone) {
    const Observation* seen = latest(zone);
    if (!seen) return;
    const bool hard = is_plain(*seen);
    const auto i = static_cast<std::size_t>(zone);
    const double wrong = 1 - posterior_.sound[i];
    if (wrong < (seen->inferred ? kWrongUnseen : hard ? kWrongHard : kWrongSoft)) return;
    // Another coil is no fault either.
    const double replaced = posterior_.zone_class[i][static_cast<std::size_t>(ZoneClass::replaced)];
    if (wrong - replaced < least_fault(*seen, hard)) return;
    const auto list = explanations(posterior_, zone);
    const bool low = std::any_of(list.begin(), list.end(), [](const Explanation& it) {
      const bool takes_volts = it.fault() == Fault::supply_low || it.fault() == Fault::common_high_resistance;
      return it.cause && takes_volts && it.probability >= kNamedToo;
    });
    for (std::size_t k = 0; k < list.size(); ++k) {
      // For want of volts, which is what to look after.
      if (low && list[k].fault() == Fault::plunger_not_seated) continue;
      // What is as likely as that beside the best acts together with it.
      if (list[k].probability < (k > 0 ? kNamedToo : named(*seen, hard))) return;
      if (list[k].cause)
        claim_cause(list[k], alternatives(list, k), *seen);
      else
        claim_zone(zone, list[k], alternatives(list, k), *seen);
    }
  }

  // The others, but for what is claimed itself.
  std::vector<Alternative> alternatives(const std::vector<Explanation>& list, std::size_t but) const {
    std::vector<Alternative> out;
    for (std::size_t i = 0; i < list.size() && out.size() < 4; ++i) {
      const double p = list[i].probability;
      if (i != but && p >= kWorthMentioning && p < kNamedToo) out.push_back({list[i].fault(), p});
    }
    return out;
  }

  Evidence evidence(const Observation& seen) const {
    const bool by_inrush = !measured(seen.hold_ratio) && measured(seen.inrush_ratio);
    Evidence e;
    const int zone = number(seen.index);
    e.channel = zone == kMasterZone ? "master/current" : fmt::format("zone/{}/current", zone);
    e.observed = by_inrush ? seen.observed_inrush_amps : std::max(0.0, seen.observed_amps);
    e.expected = by_inrush ? seen.expected_inrush_amps : seen.expected_amps;
    const double sd = by_inrush ? seen.inrush_sd : seen.hold_sd;
    e.low = e.expected * std::exp(-1.96 * sd);
    e.high = e.expected * std::exp(1.96 * sd);
    e.unit = "A";
    e.run = seen.start;
    return e;
  }

  std::string detail(const Observation& seen) const {
    if (!measured(seen.hold_ratio)) return "";
    if (seen.dead() && seen.back_ratio > kComesBack)
      return fmt::format("It showed {:.3f} A while {:.3f} A came back on the common.",
                         std::max(0.0, seen.observed_amps), seen.back_ratio * seen.expected_amps);
    return fmt::format("It drew {:.3f} A where {:.3f} A is normal.", std::max(0.0, seen.observed_amps),
                       seen.expected_amps);
  }

  void claim_zone(int zone, const Explanation& it, std::vector<Alternative> alternatives,
                  const Observation& seen) {
    const Fault fault = it.fault();
    const int n = number(zone);
    const std::string subject = n == kMasterZone ? "master" : fmt::format("z{}", n);
    const double strength = measured(seen.hold_ratio) ? seen.hold_ratio : 1;
    Claim claim = make_claim(fmt::format("{}/{}", subject, fault_name(fault)), subject, fault, {n},
                             it.probability, strength, detail(seen));
    claim.content.alternatives = std::move(alternatives);
    claim.content.evidence = {evidence(seen)};
    const bool on_wire = fault == Fault::open_circuit || fault == Fault::high_resistance ||
                         fault == Fault::shorted_coil || fault == Fault::earth_leakage ||
                         fault == Fault::partial_open;
    if (on_wire)
      claim.content.where = places_on_zone_wire(context_.config, n, fault != Fault::high_resistance);
    claims_.push_back(std::move(claim));
  }

  void claim_cause(const Explanation& it, std::vector<Alternative> alternatives, const Observation& seen) {
    const CauseChance& cause = *it.chance;
    const Fault fault = it.fault();
    std::string subject = "supply", common;
    if (cause.best.common >= 0)
      subject = common = context_.config.commons[static_cast<std::size_t>(cause.best.common)].id;
    std::vector<int> zones;
    for (int z : cause.best.zones) zones.push_back(number(z));
    std::sort(zones.begin(), zones.end());
    const bool master = zones.size() > 1 && cause.best.site_class != SiteClass::crossed_wires &&
                        std::erase(zones, kMasterZone) > 0;
    if (cause.best.site_class == SiteClass::crossed_wires)
      subject = fmt::format("z{}-z{}", zones[0], zones[1]);
    const std::string key = fmt::format("{}/{}", subject, fault_name(fault));
    for (auto& earlier : claims_)
      if (earlier.key == key) {
        earlier.content.evidence.push_back(evidence(seen));
        return;
      }
    const double strength = cause.best.site_class == SiteClass::supply_low ? cause.best.size
                            : measured(seen.hold_ratio)                    ? seen.hold_ratio
                                                                           : 1;
    Claim claim = make_claim(key, subject, fault, zones, cause.probability, strength, "");
    claim.content.alternatives = std::move(alternatives);
    claim.content.evidence = {evidence(seen)};
    claim.content.common = common;
    claim.master = master;
    for (const auto& [segment, chance] : cause.segments)
      if (segment >= 0 && chance / cause.probability > 0.01) {
        const int box = context_.site.segments[static_cast<std::size_t>(segment)].box;
        if (!context_.config.boxes.empty())
          claim.content.where.push_back(stretch_to(context_.config, box, chance));
      }
    claims_.push_back(std::move(claim));
  }

  const SitePosterior& posterior_;
  const ClaimContext& context_;
  std::vector<Claim> claims_;
};

}  // namespace

Claim make_claim(std::string key, std::string subject, Fault fault, std::vector<int> zones,
                 double probability, double strength, const std::string& detail) {
  Claim claim;
  claim.key = std::move(key);
  claim.subject = std::move(subject);
  claim.content.fault = fault;
  claim.content.probability = std::min(probability, 0.999);
  claim.content.severity = severity_of(fault, strength);
  claim.content.summary = summary_of(fault, zones, detail);
  claim.content.zones = std::move(zones);
  return claim;
}

std::vector<Claim> claims_of(const SitePosterior& posterior, const ClaimContext& context) {
  return ClaimMaker(posterior, context).make();
}

}  // namespace coilward
