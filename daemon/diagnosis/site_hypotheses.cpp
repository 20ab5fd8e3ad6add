#include "daemon/diagnosis/site_hypotheses.h"

#include <algorithm>
#include <cmath>
#include <complex>

#include "daemon/diagnosis/cause_size.h"
#include "daemon/diagnosis/zone_hypotheses.h"

namespace coilward {
namespace {

// What the same ohms do to one coil and to another: their resistances are only roughly known. Own judgement.
constexpr double kCoilsGuessed = 0.06;

// Chance that it begins on a given day; common practice, rough. A zone's own broken wire is the
// commoner cause of one dead zone, a common of several; a fuse or transformer of all at once.
constexpr double kShiftHazard = 2e-3, kLowHazard = 3e-5, kLostHazard = 1e-4;
// Share of the breaks that lie where no box is named, to the zones seen dead.
constexpr double kUnplacedShare = 0.3;
constexpr double kCommonHazard = 1e-4, kCommonOhmsHazard = 5e-5, kCrossedHazard = 4e-5;

// Sizes are tried about the one that explains what was seen. The prior is even in the logarithm of the size
// over the range a cause can have.
constexpr double kOhmsSteps[] = {1.0, 0.8, 1.25}, kFactorSteps[] = {1.0, 0.98, 1.02};
// Ohms of one place and of the next are the same ones, which outputs beyond both are followed under once.
// Finer than the steps between the sizes that are tried; own judgement.
const double kOhmsGrid = std::log(1.05);
double on_grid(double ohms) { return std::exp(kOhmsGrid * std::round(std::log(ohms) / kOhmsGrid)); }
constexpr double kLeastOhms = 2, kMostOhms = 250, kLeastFactor = 0.30, kMostFactor = 1.12;
// Brown-outs: some a season, of up to a sixth, over within the hour (common practice; EN 50160 calls dips
// what lasts less than a minute). A supply that stays low is a fault when it has outlasted one.
constexpr double kBrownOutHazard = 0.05, kDeepestBrownOut = 0.82, kShallowestBrownOut = 0.97;
constexpr auto kBrownOutLasts = std::chrono::minutes(45);
const double kBrownOutShare = std::log(1.02) / std::log(kShallowestBrownOut / kDeepestBrownOut);
constexpr double kNoShift = 0.008;   // less is the wander of the mains; own judgement
constexpr double kLowFactor = 0.90;  // a supply below this is a fault, above it the mains (EN 50160: 10 %)
const double kOhmsShare = std::log(1.25 * 1.25) / 2 / std::log(kMostOhms / kLeastOhms);
const double kShiftShare = std::log(1.02) / std::log(kMostFactor / kLowFactor);
const double kLowShare = std::log(1.02) / std::log(kLowFactor / kLeastFactor);
// Of the sum of both coils: where the wires touch decides how much wire and source are shared, and two
// sensors differ. What is seen of it is the same in every run, so it is solved for; the chance is that of its
// place. Solved for to within the next, the same in every run.
constexpr double kCrossedShare = 0.97, kCrossedShareSd = 0.035, kCrossedLeft = 0.005;
// Off by so many of its deviations it is not two coils; own judgement.
constexpr double kNeverCrossed = 5;
// Moments at which a cause may have begun.
constexpr std::size_t kLatestOnsets = 4, kEarlierOnsets = 4;
// A zone on another's wire adds a good part to its own current; less is not two coils.
constexpr double kLooksCrossed = 1.15;

// What a coil draws at other volts is told from those to within so much of the change, the same in every run;
// own judgement.
constexpr double kCoilsFollow = 0.08;

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

bool suspicious(const Observation& o) {
  const auto off = [](double ratio, double sd) {
    return measured(ratio) && std::abs(std::log(std::max(ratio, 0.01))) > 2 * sd;
  };
  return o.inferred || o.cut_out || off(o.hold_ratio, o.hold_sd) || off(o.inrush_ratio, o.inrush_sd) ||
         off(o.volts_ratio, o.volts_sd);
}

class Finder {
 public:
  explicit Finder(const SiteSeen& seen) : seen_(seen) {}

  std::vector<CauseStart> find() {
    add_supply();
    add_commons();
    add_unplaced_common();
    add_crossed();
    return std::move(list_);
  }

 private:
  const std::deque<Observation>& window(int zone) const {
    return seen_.filters[static_cast<std::size_t>(zone)].window();
  }

  // Starts of runs of the outputs concerned that are not as they should be: the latest, and some of those
  // before spread evenly; and where a standing cause began.
  std::vector<UtcTime> onsets(const std::vector<int>& zones, bool only_dead) const {
    std::vector<UtcTime> all;
    for (int zone : zones)
      for (const auto& o : window(zone))
        if (only_dead ? o.dead() || o.inferred || o.cut_out : suspicious(o)) all.push_back(o.start);
    std::sort(all.begin(), all.end());
    all.erase(std::unique(all.begin(), all.end()), all.end());
    if (all.empty()) return all;
    std::vector<UtcTime> out;
    const std::size_t latest = all.size() > kLatestOnsets ? all.size() - kLatestOnsets : 0;
    const std::size_t step = std::max<std::size_t>(1, (latest + kEarlierOnsets - 1) / kEarlierOnsets);
    for (std::size_t i = 0; i < latest; i += step) out.push_back(all[i]);
    out.insert(out.end(), all.begin() + static_cast<std::ptrdiff_t>(latest), all.end());
    out.insert(out.end(), seen_.begun.begin(), seen_.begun.end());
    std::sort(out.begin(), out.end());
    out.erase(std::unique(out.begin(), out.end()), out.end());
    return out;
  }

  // One cause in its sizes, that which was solved for first. make: none where it cannot have that size.
  template <class Steps, class Make>
  void add_sizes(const Steps& steps, const Make& make) {
    int solved = -1;
    for (double step : steps) {
      auto start = make(step);
      if (!start) continue;
      start->another_size_of = solved;
      list_.push_back(std::move(*start));
      if (solved < 0) solved = static_cast<int>(list_.size()) - 1;
    }
  }

  void add_supply() {
    const auto zones = all_zones(seen_.site);
    for (UtcTime since : onsets(zones, false)) {
      const double about = supply_factor(since, seen_.filters);
      if (!measured(about) || about < kLeastFactor || about > kMostFactor) continue;
      if (std::abs(about - 1) < kNoShift) continue;  // most outputs say that it did not move
      add_sizes(kFactorSteps, [&](double step) -> std::optional<CauseStart> {
        const bool low = about * step < kLowFactor;
        return CauseStart{{low ? SiteClass::supply_low : SiteClass::supply_shift, -1, -1, about * step, zones,
                           std::log(low ? kLowHazard * kLowShare : kShiftHazard * kShiftShare)},
                          since};
      });
      add_sizes(kFactorSteps, [&](double step) -> std::optional<CauseStart> {
        if (about * step <= kDeepestBrownOut || about * step >= kShallowestBrownOut) return std::nullopt;
        return CauseStart{
            {SiteClass::brown_out, -1, -1, about * step, zones, std::log(kBrownOutHazard * kBrownOutShare)},
            since,
            since + kBrownOutLasts};
      });
    }
    if (seen_.dead.empty() && !volts_lost()) return;
    for (UtcTime since : onsets(zones, true))
      list_.push_back({{SiteClass::supply_lost, -1, -1, 0, zones, std::log(kLostHazard)}, since});
  }

  bool volts_lost() const {
    return std::any_of(seen_.suspects.begin(), seen_.suspects.end(), [&](int zone) {
      return !window(zone).empty() && window(zone).back().volts_ratio < 0.3;
    });
  }

  // Per splice and per metre alike: each stretch has one splice, worth ten metres of wire (common practice).
  void add_commons() {
    double total = 0;
    for (const auto& segment : seen_.site.segments) total += 10 + metres_of(segment, seen_.config);
    for (std::size_t s = 0; s < seen_.site.segments.size(); ++s) {
      const auto& segment = seen_.site.segments[s];
      if (!touches(segment.zones, seen_.suspects)) continue;
      const double share = (10 + metres_of(segment, seen_.config)) / total;
      SiteHypothesis cause{
          SiteClass::failed_common,       static_cast<int>(s), segment.common, 0, segment.zones,
          std::log(kCommonHazard * share)};
      for (UtcTime since : onsets(segment.zones, true)) list_.push_back({cause, since});
      cause.site_class = SiteClass::common_high_resistance;
      cause.log_prior = std::log(kCommonOhmsHazard * share * kOhmsShare / 2);
      add_common_ohms(cause);
    }
  }

  // At once, or grown since.
  void add_common_ohms(SiteHypothesis cause) {
    const double log_prior = cause.log_prior;
    for (UtcTime since : onsets(cause.zones, false))
      for (bool grown : {false, true}) {
        const double about = common_ohms(cause.zones, since, grown, seen_.filters, seen_.fitted);
        if (!measured(about) || about < kLeastOhms || about > kMostOhms) continue;
        UtcTime latest = since;
        for (int zone : cause.zones)
          if (!window(zone).empty()) latest = std::max(latest, window(zone).back().start);
        if (grown && latest - since < std::chrono::hours(24)) continue;
        cause.grows_from = grown ? since : kNever;
        cause.grows_to = grown ? latest : kNever;
        for (bool keeps : {false, true}) {
          if (grown && keeps) continue;
          cause.keeps = keeps;
          cause.log_prior = log_prior - (grown ? 0 : std::log(2));
          add_sizes(kOhmsSteps, [&](double step) -> std::optional<CauseStart> {
            cause.size = on_grid(about * step);
            return CauseStart{cause, since};
          });
        }
      }
  }

  // Where no boxes are configured, or not for these outputs, the dead ones themselves say what lies beyond
  // the break.
  void add_unplaced_common() {
    for (const auto& segment : seen_.site.segments) {
      std::vector<int> unplaced;
      for (int zone : seen_.dead) {
        const auto& electrics = seen_.site.zones[static_cast<std::size_t>(zone)];
        if (electrics.common == segment.common && electrics.box < 0) unplaced.push_back(zone);
      }
      if (segment.box >= 0 || unplaced.size() < 2 || unplaced.size() == segment.zones.size()) continue;
      for (UtcTime since : onsets(unplaced, true))
        list_.push_back({{SiteClass::failed_common, -1, segment.common, 0, unplaced,
                          std::log(kCommonHazard * kUnplacedShare)},
                         since});
    }
  }

  bool looks_crossed(int zone) const {
    return std::any_of(window(zone).begin(), window(zone).end(),
                       [](const Observation& o) { return o.hold_ratio > kLooksCrossed; });
  }

  void add_crossed() {
    const int n = static_cast<int>(seen_.site.zones.size());
    const double each = kCrossedHazard / std::max(1.0, n * (n - 1) / 2.0);
    std::vector<int> crossed;
    for (int zone : seen_.suspects)
      if (looks_crossed(zone)) crossed.push_back(zone);
    for (int a : crossed)
      for (int b = 0; b < n; ++b) {
        const bool other_too = std::find(crossed.begin(), crossed.end(), b) != crossed.end();
        if (b == a || (other_too && b < a)) continue;
        // A master output on a zone's wire would show in every run.
        const auto number = [&](int zone) { return seen_.site.zones[static_cast<std::size_t>(zone)].zone; };
        if (number(a) == kMasterZone || number(b) == kMasterZone) continue;
        const std::vector<int> pair = {std::min(a, b), std::max(a, b)};
        for (UtcTime since : onsets(pair, false)) add_crossed_pair(pair, since, std::log(each));
      }
  }

  void add_crossed_pair(const std::vector<int>& pair, UtcTime since, double log_prior) {
    double shares[2], log_chance = log_prior;
    for (int i = 0; i < 2; ++i) {
      const double seen = crossed_share(pair[i], pair[1 - i], since, seen_.filters, seen_.fitted);
      shares[i] = measured(seen) ? seen : kCrossedShare;
      if (!measured(seen)) continue;
      const double off = std::log(seen / kCrossedShare) / kCrossedShareSd;
      if (std::abs(off) > kNeverCrossed) return;
      log_chance += std::log(2 * kCrossedLeft / kCrossedShareSd) - 0.5 * off * off;
    }
    SiteHypothesis cause{SiteClass::crossed_wires, -1, -1, 1, pair, log_chance};
    cause.first_share = shares[0];
    cause.second_share = shares[1];
    list_.push_back({cause, since});
  }

  const SiteSeen& seen_;
  std::vector<CauseStart> list_;
};

// Both coils hang on whichever output is on.
Prediction crossed(const ZoneElectrics& mine, const ZoneElectrics& other, double share) {
  using Ohms = std::complex<double>;
  const Ohms inrush = 1.0 / mine.inrush_impedance() + 1.0 / other.inrush_impedance();
  Prediction p;
  p.hold = share * both_over_own(mine, other);
  p.inrush = share * std::abs(inrush) * std::abs(mine.inrush_impedance());
  p.hold_tolerance = kCrossedLeft;
  p.inrush_tolerance = 0.02;
  // The other coil's part comes back on its own common.
  if (mine.common != other.common) p.returned = 1 / p.hold;
  return p;
}

}  // namespace

Fault fault_of(SiteClass site_class) {
  switch (site_class) {
    case SiteClass::supply_low:
    case SiteClass::supply_shift:
    case SiteClass::brown_out:
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

double SiteHypothesis::size_at(UtcTime time) const {
  if (grows_from == kNever || time >= grows_to) return size;
  return size * std::max(0.0, seconds_between(grows_from, time)) / seconds_between(grows_from, grows_to);
}

std::vector<CauseStart> possible_causes(const SiteSeen& seen) { return Finder(seen).find(); }

std::optional<Prediction> effect_on(const SiteHypothesis& h, const std::vector<ZoneElectrics>& fitted,
                                    const Observation& seen) {
  if (std::find(h.zones.begin(), h.zones.end(), seen.index) == h.zones.end()) return std::nullopt;
  const auto zone = static_cast<std::size_t>(seen.index);
  Prediction p;
  switch (h.site_class) {
    case SiteClass::supply_shift:
    case SiteClass::brown_out:
    case SiteClass::supply_low:
      p.volts = p.zone_volts = h.size;
      p.volts_wander = 0.015;
      // With volts known the level is an admittance, which the supply does not change.
      p.hold = p.inrush = seen.volts_known ? 1 : h.size;
      p.hold_wander = p.inrush_wander = 0.003;
      // No two coils follow the volts alike: their iron differs.
      p.hold_tolerance = p.inrush_tolerance = kCoilsFollow * std::abs(std::log(h.size));
      p.fall = h.size * h.size;
      p.unseated = chance_unseated(h.size);
      p.hold_unseated =
          p.hold * current_ratio(fitted[zone].hold_impedance(), fitted[zone].inrush_impedance());
      p.unseated_sd = fitted[zone].inrush_sd;
      return p;
    case SiteClass::supply_lost:
      p = open_wire();
      p.volts = p.zone_volts = 0;
      return p;
    case SiteClass::failed_common:
      return open_wire();
    case SiteClass::common_high_resistance:
      p = added_ohms(fitted[zone], h.size_at(seen.start), h.keeps ? kSpliceKeeps : kSpliceWanders);
      p.hold_tolerance = kCoilsGuessed * std::abs(std::log(p.hold));
      p.inrush_tolerance = kCoilsGuessed * std::abs(std::log(p.inrush));
      return p;
    case SiteClass::crossed_wires:
      return crossed(fitted[zone],
                     fitted[static_cast<std::size_t>(h.zones[0] == seen.index ? h.zones[1] : h.zones[0])],
                     h.zones[0] == seen.index ? h.first_share : h.second_share);
  }
  return std::nullopt;
}

}  // namespace coilward
