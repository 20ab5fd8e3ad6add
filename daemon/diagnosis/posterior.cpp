#include "daemon/diagnosis/posterior.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "daemon/diagnosis/exposure.h"
#include "daemon/diagnosis/followings.h"

namespace coilward {
namespace {

// Chance per day that a standing cause is over, and per run that its size changes; own judgement.
constexpr double kEnds = 0.02, kGrows = 0.03;
// Own state so surely healthy that no outside cause is asked for.
constexpr double kUnsuspicious = 0.97;
// Moments at which a cause may have ended: the latest runs.
constexpr std::size_t kMostEnds = 5;

// A set of causes so much less likely than the best is left out.
constexpr double kLeastWeight = 1e-9;
// Another size of a cause may explain so much more than the one that was solved for, as a logarithm; own
// judgement.
constexpr double kSizeMayGain = 10;
// Nearer to the size that it had, a cause has not changed its size: the sizes that are tried lie a quarter
// apart.
constexpr double kSameSize = 0.2;
constexpr double kLeftOut = -std::numeric_limits<double>::infinity();

struct Candidate {
  std::vector<Phase> phases;
  double log_weight = 0;
  std::vector<std::pair<int, std::shared_ptr<const Followed>>>
      changed;  // outputs whose filter differs from the standing set's
};

bool benign(const SiteHypothesis& cause) {
  return cause.site_class == SiteClass::supply_shift || cause.site_class == SiteClass::brown_out;
}

// A brown-out is taken back when the supply stays low.
bool open_question(const Phase& phase) {
  return phase.lasts() || phase.cause.site_class == SiteClass::brown_out;
}

class Search {
 public:
  Search(const SiteElectrics& site, const Config& config, const std::vector<ZoneFilter>& filters,
         const std::vector<ZoneElectrics>& fitted, const std::vector<Phase>& standing)
      : site_(site),
        config_(config),
        filters_(filters),
        fitted_(fitted),
        standing_(standing),
        followings_(filters, fitted) {
    tried_.push_back({standing, 0, {}});
  }

  SitePosterior run() {
    find_suspects();
    const bool lasting = std::any_of(standing_.begin(), standing_.end(), open_question);
    if (!suspects_.empty() || lasting) {
      auto concerned = suspects_;
      for (const auto& phase : standing_)
        if (open_question(phase))
          concerned.insert(concerned.end(), phase.cause.zones.begin(), phase.cause.zones.end());
      std::sort(concerned.begin(), concerned.end());
      concerned.erase(std::unique(concerned.begin(), concerned.end()), concerned.end());
      SiteSeen seen{site_, config_, filters_, fitted_, concerned, dead_};
      for (const auto& phase : standing_)
        if (open_question(phase)) seen.begun.push_back(phase.since);
      const auto causes = possible_causes(seen);
      try_each(causes, [this](const CauseStart& start) {
        return std::max(try_added(start), try_for_brown_outs(start));
      });
      for (std::size_t k = 0; k < standing_.size(); ++k)
        open_question(standing_[k]) ? try_without(k, causes) : try_resumed(k);
    }
    return summed();
  }

 private:
  void find_suspects() {
    for (std::size_t z = 0; z < filters_.size(); ++z) {
      const auto& window = filters_[z].window();
      const auto& belief = filters_[z].followed().belief;
      if (window.empty()) continue;
      const bool odd_volts =
          std::any_of(window.begin(), window.end(), [](const Observation& o) { return o.odd_volts(); });
      // Of another coil in it too: it may be the supply, as the others will tell.
      if (filters_[z].hypotheses().sound(belief) < kUnsuspicious || odd_volts)
        suspects_.push_back(static_cast<int>(z));
      if (window.back().dead()) dead_.push_back(static_cast<int>(z));
    }
  }

  // Other sizes of a cause only where the one that was solved for comes near. attempt: the logarithm of the
  // weight of the set with the cause.
  template <class Attempt>
  void try_each(const std::vector<CauseStart>& causes, const Attempt& attempt) {
    std::vector<double> weights(causes.size(), kLeftOut);
    for (std::size_t i = 0; i < causes.size(); ++i)
      if (causes[i].another_size_of < 0) weights[i] = attempt(causes[i]);
    for (const auto& start : causes)
      if (start.another_size_of >= 0 &&
          weights[static_cast<std::size_t>(start.another_size_of)] > least_weight() - kSizeMayGain)
        attempt(start);
  }

  double try_added(const CauseStart& start) {
    for (const auto& phase : standing_)
      if (phase.lasts() && phase.cause.same_cause(start.cause)) return kLeftOut;
    auto phases = standing_;
    phases.push_back(begun(start));
    return consider(std::move(phases), start.cause.zones, start.since);
  }

  // A supply that stays low, for one brown-out after the other: each of them was the likelier when it came.
  double try_for_brown_outs(const CauseStart& start) {
    const bool lasts = start.until == kForGood;
    if (!lasts || (start.cause.site_class != SiteClass::supply_low &&
                   start.cause.site_class != SiteClass::supply_shift))
      return kLeftOut;
    auto phases = standing_;
    UtcTime from = start.since;
    const auto removed = std::erase_if(phases, [&](const Phase& phase) {
      const bool one = phase.cause.site_class == SiteClass::brown_out && phase.until > start.since;
      if (one) from = std::min(from, phase.since);
      return one;
    });
    if (removed < 2) return kLeftOut;  // a single one is replaced in try_without
    phases.push_back(begun(start));
    return consider(std::move(phases), start.cause.zones, from);
  }

  double log_prior(const std::vector<Phase>& phases) const {
    double sum = 0;
    for (const auto& phase : phases)
      sum += phase.cause.log_prior + (phase.cause.site_class == SiteClass::brown_out ? 0 : log_end(phase));
    return sum;
  }

  // A cause seldom ends between two runs of one watering.
  double log_end(const Phase& phase) const {
    return phase.lasts() ? 0 : std::log(kEnds * days_between_runs(phase.cause, phase.until));
  }

  Phase begun(const CauseStart& start) const {
    Phase phase{start.cause, start.since, start.until};
    double days = days_between_runs(start.cause, start.since);
    // What is soon over cannot have begun long before it was seen.
    if (start.until != kForGood) days = std::min(days, exposure_days(start.since, start.until));
    phase.cause.log_prior += std::log(days);
    return phase;
  }

  double days_between_runs(const SiteHypothesis& cause, UtcTime since) const {
    UtcTime before = kNever;
    for (int zone : cause.zones)
      for (const auto& o : filters_[static_cast<std::size_t>(zone)].window())
        if (o.start < since) before = std::max(before, o.start);
    if (before == kNever) return kMostExposureDays;
    return exposure_days(before, since);
  }

  void try_without(std::size_t k, const std::vector<CauseStart>& causes) {
    const Phase& old = standing_[k];
    for (UtcTime when : ends(old)) {
      auto phases = standing_;
      phases[k].until = when;
      consider(std::move(phases), old.cause.zones, when);
    }
    auto never = standing_;
    never.erase(never.begin() + static_cast<std::ptrdiff_t>(k));
    consider(std::move(never), old.cause.zones, old.since);
    try_each(causes, [&](const CauseStart& start) {
      if (two_steps_off(start, old)) return kLeftOut;
      auto phases = standing_;
      phases[k] = begun(start);
      auto zones = old.cause.zones;
      zones.insert(zones.end(), start.cause.zones.begin(), start.cause.zones.end());
      return consider(std::move(phases), zones, std::min(old.since, start.since));
    });
    try_resized(k, causes);
  }

  // Added ohms at another place are tried as begun with the standing ones: each place with each beginning is
  // most of the work where a common is bad, and what is two steps off is reached by two looks.
  static bool two_steps_off(const CauseStart& start, const Phase& old) {
    return start.cause.site_class == SiteClass::common_high_resistance && start.cause.same_cause(old.cause) &&
           start.cause.segment != old.cause.segment && start.since != old.since;
  }

  // It never ended: what looked like its end was one output that behaved otherwise.
  void try_resumed(std::size_t k) {
    const Phase& old = standing_[k];
    std::vector<Phase> phases;
    for (const auto& phase : standing_)
      if (&phase == &old || phase.since < old.until || !phase.cause.same_cause(old.cause))
        phases.push_back(phase);
    if (phases.size() == standing_.size()) return;
    for (auto& phase : phases)
      if (phase == old) phase.until = kForGood;
    consider(std::move(phases), old.cause.zones, old.until);
  }

  // The same cause, of another size since a later run: a splice gets worse.
  void try_resized(std::size_t k, const std::vector<CauseStart>& causes) {
    const Phase& old = standing_[k];
    if (old.cause.size == 0) return;
    try_each(causes, [&](const CauseStart& start) {
      const auto& cause = start.cause;
      if (start.since <= old.since || start.until != kForGood || cause.grows_from != kNever ||
          !cause.same_cause(old.cause) || cause.segment != old.cause.segment ||
          cause.keeps != old.cause.keeps || std::abs(std::log(cause.size / old.cause.size)) < kSameSize)
        return kLeftOut;
      auto phases = standing_;
      phases[k].until = start.since;
      phases.push_back({cause, start.since, kForGood});
      phases.back().cause.log_prior = std::log(kGrows) - log_end(phases[k]);
      return consider(std::move(phases), cause.zones, start.since);
    });
  }

  // Earlier ones than it has.
  std::vector<UtcTime> ends(const Phase& phase) const {
    std::vector<UtcTime> times;
    for (int zone : phase.cause.zones)
      for (const auto& o : filters_[static_cast<std::size_t>(zone)].window())
        if (o.start > phase.since && o.start < phase.until) times.push_back(o.start);
    std::sort(times.begin(), times.end());
    times.erase(std::unique(times.begin(), times.end()), times.end());
    if (times.size() > kMostEnds) times.erase(times.begin(), times.end() - kMostEnds);
    return times;
  }

  // What the output's runs from then on could gain at most by another set.
  double most_gained(int zone, UtcTime from) const {
    const auto& filter = filters_[static_cast<std::size_t>(zone)];
    return filter.best_evidence_from(from) - (filter.followed().log_evidence - filter.evidence_before(from));
  }

  double least_weight() const { return top_ + std::log(kLeastWeight); }

  double gained(int zone, double log_evidence) const {
    return log_evidence - filters_[static_cast<std::size_t>(zone)].followed().log_evidence;
  }

  // from: where the set first differs from the standing one. Returned is the logarithm of its weight against
  // the standing one's; of one that is far from the best, kLeftOut.
  double consider(std::vector<Phase> phases, std::vector<int> zones, UtcTime from) {
    std::sort(zones.begin(), zones.end());
    zones.erase(std::unique(zones.begin(), zones.end()), zones.end());
    Candidate candidate{std::move(phases), 0, {}};
    candidate.log_weight = log_prior(candidate.phases) - log_prior(standing_);
    // Outputs that fare well as it is come first: they are what most sets fail on.
    std::vector<std::pair<double, int>> order;
    std::vector<int> known;
    double to_gain = 0;
    for (int zone : zones) {
      if (const auto evidence = followings_.evidence(zone, candidate.phases))
        known.push_back(zone), candidate.log_weight += gained(zone, *evidence);
      else
        to_gain += order.emplace_back(most_gained(zone, from), zone).first;
    }
    std::sort(order.begin(), order.end());
    for (const auto& [gain, zone] : order) {
      if (candidate.log_weight + to_gain < least_weight() - kSizeMayGain) return kLeftOut;
      to_gain -= gain;
      const auto& result =
          candidate.changed.emplace_back(zone, followings_.follow(zone, from, candidate.phases)).second;
      candidate.log_weight += gained(zone, result->log_evidence);
    }
    if (candidate.log_weight < least_weight()) return candidate.log_weight;
    for (int zone : known)
      candidate.changed.emplace_back(zone, followings_.follow(zone, from, candidate.phases));
    top_ = std::max(top_, candidate.log_weight);
    const double weight = candidate.log_weight;
    tried_.push_back(std::move(candidate));
    return weight;
  }

  SitePosterior summed() {
    double top = 0, total = 0;
    for (const auto& c : tried_) top = std::max(top, c.log_weight);
    for (auto& c : tried_) total += c.log_weight = std::exp(c.log_weight - top);
    SitePosterior out;
    out.zone_class.assign(filters_.size(), {});
    out.sound.assign(filters_.size(), 0.0);
    out.teaches.assign(filters_.size(), 0.0);
    const Candidate* best = nullptr;
    for (auto& c : tried_) {
      c.log_weight /= total;  // a probability from here on
      if (!best || c.log_weight > best->log_weight) best = &c;
      if (c.log_weight > kLeastWeight) weigh_in(c, out);
    }
    out.best = best->phases;
    out.best_probability = best->log_weight;
    std::sort(out.causes.begin(), out.causes.end(),
              [](const auto& a, const auto& b) { return a.probability > b.probability; });
    for (auto& cause : out.causes)
      std::sort(cause.segments.begin(), cause.segments.end(),
                [](const auto& a, const auto& b) { return a.second > b.second; });
    return out;
  }

  void weigh_in(const Candidate& c, SitePosterior& out) const {
    std::vector<const Followed*> result(filters_.size());
    for (std::size_t z = 0; z < filters_.size(); ++z) result[z] = &filters_[z].followed();
    for (const auto& [zone, changed] : c.changed) result[static_cast<std::size_t>(zone)] = changed.get();
    std::vector<bool> acted_on(filters_.size(), false), level_moved(filters_.size(), false);
    for (const auto& phase : c.phases) {
      if (!phase.lasts()) continue;
      add_cause(phase, c.log_weight, out);
      if (benign(phase.cause)) continue;
      for (int zone : phase.cause.zones) {
        const auto z = static_cast<std::size_t>(zone);
        acted_on[z] = true;
        const auto& window = filters_[z].window();
        const bool allowed_for =
            phase.cause.site_class == SiteClass::supply_low && !window.empty() && window.back().volts_known;
        if (!allowed_for) level_moved[z] = true;
      }
    }
    for (std::size_t z = 0; z < filters_.size(); ++z) {
      const Belief& belief = result[z]->belief;
      for (std::size_t i = 0; i < belief.size(); ++i)
        out.zone_class[z][static_cast<std::size_t>(filters_[z].hypotheses()[i].zone_class)] +=
            c.log_weight * belief[i].chance;
      const double sound = c.log_weight * filters_[z].hypotheses().sound(belief);
      if (!acted_on[z]) out.sound[z] += sound;
      if (!level_moved[z]) out.teaches[z] += sound;
    }
  }

  static void add_cause(const Phase& phase, double probability, SitePosterior& out) {
    auto at = std::find_if(out.causes.begin(), out.causes.end(),
                           [&](const CauseChance& c) { return c.best.same_cause(phase.cause); });
    if (at == out.causes.end())
      at = out.causes.insert(out.causes.end(), CauseChance{phase.cause, phase.since, 0, 0, {}});
    at->probability += probability;
    auto place = std::find_if(at->segments.begin(), at->segments.end(),
                              [&](const auto& s) { return s.first == phase.cause.segment; });
    if (place == at->segments.end())
      place = at->segments.insert(at->segments.end(), {phase.cause.segment, 0.0});
    place->second += probability;
    if (probability <= at->best_probability) return;
    at->best = phase.cause;
    at->since = phase.since;
    at->best_probability = probability;
  }

  const SiteElectrics& site_;
  const Config& config_;
  const std::vector<ZoneFilter>& filters_;
  const std::vector<ZoneElectrics>& fitted_;
  const std::vector<Phase>& standing_;
  Followings followings_;
  std::vector<int> suspects_, dead_;
  std::vector<Candidate> tried_;
  double top_ = 0;  // highest logarithm of a weight so far
};

}  // namespace

SitePosterior JointPosterior::compute(const std::vector<ZoneFilter>& filters,
                                      const std::vector<ZoneElectrics>& fitted,
                                      const std::vector<Phase>& standing) const {
  return Search(site_, config_, filters, fitted, standing).run();
}

}  // namespace coilward
