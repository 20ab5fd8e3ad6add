#include "daemon/diagnosis/diagnosis.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <set>

#include "daemon/diagnosis/claims.h"
#include "daemon/diagnosis/company.h"
#include "daemon/diagnosis/event_claims.h"
#include "daemon/diagnosis/standing_json.h"
#include "daemon/diagnosis/usual_levels.h"
#include "daemon/diagnosis/watering.h"

namespace coilward {
namespace {

// A run teaches the normal draw when it is so surely sound; a finding ends when its zones are.
constexpr double kTeaches = 0.90, kIsSound = 0.95;
// Another coil: so sure that the zone is learned anew.
constexpr double kIsReplaced = 0.90;
// The circuit is fitted again when the learned level has moved by this much (relative).
constexpr double kRefit = 0.02;
// A run is weighed anew when its neighbours have shown by so many of its deviations what the supply was.
constexpr double kSeenAnew = 0.25;
bool cannot_be_early(const Observation& o) {
  return o.dead() || o.cut_out || (measured(o.hold_ratio) && (o.hold_ratio > kShort || o.hold_ratio < 0.35));
}

}  // namespace

class Diagnosis::Impl {
 public:
  Impl(const Config& config, TellFinding tell)
      : config_(config),
        site_(site_electrics(config)),
        model_(site_),
        joint_(site_, config),
        company_(site_, filters_),
        usual_(site_),
        watering_(model_, site_.zones.size()),
        book_(std::move(tell)),
        events_(config, book_) {
    for (std::size_t i = 0; i < site_.zones.size(); ++i) {
      fitted_.push_back(model_.electrics(static_cast<int>(i)));
      filters_.emplace_back(fitted_.back(), site_.source_ohms);
    }
    latest_.resize(site_.zones.size());
  }

  void look(const Run& as_read, Look look, UtcTime now) {
    const int index = site_.index_of(as_read.zone);
    if (index < 0) return;
    const Run run = with_moved_zero(as_read, now);
    if (run.readings == 0 && !run.inferred) {
      if (look == Look::silent || run.ended == RunEnd::silent) events_.silent(run, now);
      return;
    }
    if (events_.frozen(run.zone)) return;
    events_.heard_run(run, now);
    if (company_.has_short(run)) return;
    model_.pass(run.start);
    model_.began(index, run.start);
    teach(watering_.left_over(run.start));
    const DrawSample sample = model_.sample(run, company_.loads(run));
    const Observation seen = observed(run, look, now, sample);
    if (!measured(seen.hold_ratio) && !measured(seen.inrush_ratio) && !seen.cut_out) return;
    // Two readings are enough to see a dead zone, not to see that a level moved by a few per cent.
    if ((look == Look::early || (run.sharing_unsure && look != Look::finished)) && !cannot_be_early(seen))
      return;
    if ((look == Look::settled || look == Look::finished) && book_.tried(run, sample)) start_over(index);
    filters_[static_cast<std::size_t>(index)].add(seen);
    latest_[static_cast<std::size_t>(index)] = {run, look, now};
    const SitePosterior posterior = concluded(now);
    if (look != Look::finished || book_.failed_trial(run.zone)) return;
    const bool taught = settle(run, seen, sample, posterior);
    if (taught && !sample.volts_known && weigh_neighbours_anew(run)) concluded(now);
  }

  SitePosterior concluded(UtcTime now) {
    const auto standing = effect_of(standing_, fitted_);
    for (auto& filter : filters_) filter.follow(standing, standing_version_);
    SitePosterior posterior = joint_.compute(filters_, fitted_, standing_);
    conclude(posterior, now);
    return posterior;
  }

  // What a run taught of the supply holds for those before it in the same watering, which taught nothing.
  bool weigh_neighbours_anew(const Run& run) {
    bool any = false;
    for (std::size_t i = 0; i < filters_.size(); ++i) {
      const Seen& it = latest_[i];
      const auto& window = filters_[i].window();
      if (window.empty() || window.back().start != it.run.start || run.start - it.run.start > kOneWatering)
        continue;
      const Observation& before = window.back();
      if (before.taught || before.volts_known || before.dead() || !measured(before.hold_ratio)) continue;
      const Observation seen =
          observed(it.run, it.look, it.now, model_.sample(it.run, company_.loads(it.run)));
      const double moved = std::abs(std::log(seen.expected_amps / before.expected_amps));
      if (moved < kSeenAnew * before.hold_sd && seen.hold_sd > (1 - kSeenAnew) * before.hold_sd) continue;
      filters_[i].add(seen);
      any = true;
    }
    return any;
  }

  // What an output seems to carry while off comes on top of a run where the sensor's zero moved; one that is
  // stuck on takes in a run what it always does.
  Run with_moved_zero(const Run& as_read, UtcTime now) {
    const double moved = events_.uncommanded_amps(as_read.zone);
    if (!measured(moved) || !measured(as_read.hold_amps)) return as_read;
    Run shifted = as_read;
    shifted.idle_amps = moved;
    const DrawSample plain = model_.sample(as_read), less = model_.sample(shifted);
    const double usual = model_.forecast(plain).hold.amps;
    if (std::abs(less.hold_amps - usual) >= std::abs(plain.hold_amps - usual)) return as_read;
    events_.zero_moved(as_read.zone, now);
    return shifted;
  }

  // All that lies beyond one stretch of a common, and no more: its break explains it.
  void never_ran(const std::vector<int>& zones, bool commanded, UtcTime now) {
    if (!commanded && zones.size() > 1)
      for (const auto& segment : site_.segments)
        if (segment.box >= 0 && numbers_of(segment) == std::set<int>(zones.begin(), zones.end()))
          return events_.never_ran_beyond(segment, zones, now);
    for (int zone : zones) events_.never_ran(zone, commanded, now);
  }

  std::set<int> numbers_of(const CommonSegment& segment) const {
    std::set<int> numbers;
    for (int index : segment.zones) numbers.insert(site_.zones[static_cast<std::size_t>(index)].zone);
    numbers.erase(kMasterZone);
    return numbers;
  }

  void repaired(const std::vector<int>& zones, bool new_coil, UtcTime when) {
    RepairTrial trial{when, new_coil, {}};
    for (int zone : zones)
      if (const int index = site_.index_of(zone); index >= 0) {
        trial.zones.push_back(ZoneTrial::before(model_, index));
        start_over(index);
        if (new_coil || !trial.zones.back().learned) trial.zones.back().expect_by_circuit(model_, index);
      }
    ++standing_version_;
    std::erase_if(standing_, [&](const Phase& p) {
      return std::any_of(p.cause.zones.begin(), p.cause.zones.end(), [&](int i) {
        return std::find(zones.begin(), zones.end(), site_.zones[static_cast<std::size_t>(i)].zone) !=
               zones.end();
      });
    });
    book_.repaired(trial, when);
  }

  NormalDraw normal(int zone, double supply_volts) const {
    const int index = site_.index_of(zone);
    return index < 0 ? NormalDraw{} : model_.normal(index, supply_volts);
  }

  Json save() const {
    Json filters = Json::array();
    for (const auto& filter : filters_) filters.push_back(filter.save());
    return {{"zones", zone_numbers()}, {"model", model_.save()},
            {"filters", filters},      {"standing", phases_to_json(standing_)},
            {"usual", usual_.save()},  {"book", book_.save()},
            {"events", events_.save()}};
  }

  bool restore(const Json& j) {
    book_.restore(j.at("book"));
    if (j.at("zones").get<std::vector<int>>() != zone_numbers() || !model_.restore(j.at("model")))
      return false;
    usual_.restore(j.at("usual"));
    events_.restore(j.at("events"));
    standing_ = phases_from_json(j.at("standing"), site_);
    ++standing_version_;
    for (std::size_t i = 0; i < filters_.size(); ++i) {
      fitted_[i] = model_.electrics(static_cast<int>(i));
      filters_[i].refit(fitted_[i], site_.source_ohms);
      filters_[i].restore(j.at("filters").at(i));
    }
    return true;
  }

  const Config& config_;
  const SiteElectrics site_;
  DrawModel model_;
  JointPosterior joint_;
  Company company_;
  UsualLevelsLearner usual_;
  Watering watering_;
  FindingBook book_;
  EventClaims events_;

 private:
  std::vector<int> zone_numbers() const {
    std::vector<int> numbers;
    for (const auto& zone : site_.zones) numbers.push_back(zone.zone);
    return numbers;
  }

  Observation observed(const Run& run, Look look, UtcTime now, const DrawSample& sample) const {
    SharedCommon shared =
        company_.on_common(run, [&](int other) { return model_.normal(other, run.supply_volts); });
    const bool master_seen =
        std::find(run.shared_with.begin(), run.shared_with.end(), kMasterZone) != run.shared_with.end();
    shared.unseen_output = config_.master.present && run.zone != kMasterZone && !master_seen;
    const bool final = look == Look::finished || look == Look::settled;
    return observe(run, final, now, sample, model_.forecast(sample), usual_.levels(), shared);
  }

  void conclude(const SitePosterior& posterior, UtcTime now) {
    stand(posterior.best);
    drop_forgotten();
    const auto claims = claims_of(posterior, {site_, config_, filters_});
    book_.conclude(claims, now, [&](const std::vector<int>& zones) { return all_sound(zones, posterior); });
  }

  void stand(const std::vector<Phase>& phases) {
    standing_version_ += phases != standing_;
    standing_ = phases;
  }

  // Sound by what was seen, in a run that was watched for long enough: of one of them at least.
  bool all_sound(const std::vector<int>& zones, const SitePosterior& posterior) const {
    const bool seen = std::any_of(zones.begin(), zones.end(), [&](int zone) {
      const int index = site_.index_of(zone);
      return index < 0 || !filters_[static_cast<std::size_t>(index)].window().empty();
    });
    if (!seen) return false;
    return std::all_of(zones.begin(), zones.end(), [&](int zone) {
      const int index = site_.index_of(zone);
      if (index < 0) return true;
      const auto& window = filters_[static_cast<std::size_t>(index)].window();
      // A zone that has not run since stays as it was: what it shares with those that have is judged by them.
      const bool unseen = window.empty();
      if (unseen) return true;
      // One that drew nothing is not sound because another draws again.
      return posterior.sound[static_cast<std::size_t>(index)] >= kIsSound && window.back().final &&
             !window.back().dead();
    });
  }

  // Causes that ended before anything still kept.
  void drop_forgotten() {
    UtcTime oldest = kForGood;
    for (const auto& filter : filters_)
      if (!filter.window().empty()) oldest = std::min(oldest, filter.window().front().start);
    std::erase_if(standing_, [&](const Phase& p) { return p.until <= oldest; });
  }

  // A finished run: teaches what is normal, if it was. Returned: something was taught.
  bool settle(const Run& run, const Observation& seen, const DrawSample& sample,
              const SitePosterior& posterior) {
    const int index = seen.index;
    const auto i = static_cast<std::size_t>(index);
    if (posterior.zone_class[i][static_cast<std::size_t>(ZoneClass::replaced)] > kIsReplaced &&
        seen_twice(i)) {
      start_over(index);
      model_.learn(sample, 1);
      return true;
    }
    const double sound = posterior.teaches[i];
    const bool drew = !run.inferred && !seen.dead() && !seen.cut_out;
    if (sound < kTeaches && drew && watering_.waits({sample, sound, false})) return teach(watering_.agreed());
    if (sound < kTeaches || run.inferred) return false;
    // Where the volts are known the level allows for them.
    const bool usual = posterior.sound[i] >= kTeaches && !in_brown_out(run) && follow_shift(run) &&
                       !seen.low_volts();  // from the first day, low volts are not usual ones either
    usual_.learn(run, seen, usual);
    if (!usual && !sample.volts_known) return false;
    const WaitingRun healthy{sample, sound, true};
    if (!watering_.waits(healthy)) return teach({healthy});
    return teach(watering_.agreed());
  }

  bool teach(const std::vector<WaitingRun>& runs) {
    for (const auto& run : runs) {
      if (!run.teaches) {
        model_.follow_today(run.sample);
        continue;
      }
      model_.learn(run.sample, run.sound);
      const auto i = static_cast<std::size_t>(run.sample.index);
      const auto& window = filters_[i].window();
      if (!window.empty() && window.back().start == run.sample.time) filters_[i].taught();
      fit(run.sample.index);
    }
    return !runs.empty();
  }

  // Of what was learned.
  void fit(int index) {
    const auto i = static_cast<std::size_t>(index);
    const double level = std::abs(fitted_[i].hold_impedance());
    const ZoneElectrics now = model_.electrics(index);
    if (std::abs(std::abs(now.hold_impedance()) / level - 1) < kRefit &&
        fit_has_inrush_[index] == model_.inrush_known(index))
      return;
    fitted_[i] = now;
    fit_has_inrush_[index] = model_.inrush_known(index);
    filters_[i].refit(now, site_.source_ohms);
  }

  // The run before taught nothing either: by then the others have told whether it was the supply.
  bool seen_twice(std::size_t zone) const {
    const auto& window = filters_[zone].window();
    return window.size() > 1 && !window[window.size() - 2].taught;
  }

  bool in_brown_out(const Run& run) const {
    return std::any_of(standing_.begin(), standing_.end(), [&](const Phase& p) {
      return p.cause.site_class == SiteClass::brown_out && run.start >= p.since && run.start < p.until;
    });
  }

  // The supply moved: true when it is known well enough to go on learning. One zone alone may be its own
  // splice.
  bool follow_shift(const Run& run) {
    for (auto& phase : standing_) {
      if (!phase.lasts() || phase.cause.site_class != SiteClass::supply_shift || run.start < phase.since)
        continue;
      std::size_t witnesses = 0;
      for (const auto& filter : filters_)
        witnesses += !filter.window().empty() && filter.window().back().start >= phase.since;
      if (witnesses < std::min<std::size_t>(2, filters_.size())) return false;
      model_.follow_supply(std::abs(std::log(phase.cause.size)));
      phase.until = run.start + Millis{1};
      ++standing_version_;
    }
    return true;
  }

  void start_over(int index) {
    model_.forget(index);
    const auto i = static_cast<std::size_t>(index);
    fitted_[i] = model_.electrics(index);
    filters_[i].refit(fitted_[i], site_.source_ohms);
    filters_[i].restart();
  }

  std::vector<ZoneElectrics> fitted_;
  std::map<int, bool> fit_has_inrush_;  // by position
  std::vector<ZoneFilter> filters_;
  struct Seen {
    Run run;
    Look look = Look::early;
    UtcTime now = kNever;
  };
  std::vector<Seen> latest_;  // by output: its latest run that was weighed
  std::vector<Phase> standing_;
  std::uint64_t standing_version_ = 1;  // of what acts on the runs kept
};

Diagnosis::Diagnosis(const Config& config, TellFinding tell)
    : impl_(std::make_unique<Impl>(config, std::move(tell))) {}
Diagnosis::~Diagnosis() = default;
void Diagnosis::look(const Run& run, Look look, UtcTime now) { impl_->look(run, look, now); }
void Diagnosis::idle(const IdleEvent& event) {
  impl_->events_.idle(event, [&](int zone) { return impl_->normal(zone, kNotMeasured).hold_amps; });
}
void Diagnosis::implausible(Channel channel, double value, UtcTime now) {
  impl_->events_.implausible(channel, value, now);
}
void Diagnosis::missed(int zone, UtcTime expected, bool left_time, UtcTime now) {
  impl_->events_.missed(zone, expected, left_time, now);
}
void Diagnosis::never_ran(const std::vector<int>& zones, bool commanded, UtcTime now) {
  impl_->never_ran(zones, commanded, now);
}
void Diagnosis::all_silent(UtcTime since, bool commanded, double supply_volts, UtcTime now) {
  impl_->events_.all_silent(since, commanded, supply_volts, now);
}
void Diagnosis::repaired(const std::vector<int>& zones, bool new_coil, UtcTime when) {
  impl_->repaired(zones, new_coil, when);
}
const std::vector<Finding>& Diagnosis::open_findings() const { return impl_->book_.open(); }
NormalDraw Diagnosis::normal(int zone, double supply_volts) const {
  return impl_->normal(zone, supply_volts);
}
const SiteElectrics& Diagnosis::site() const { return impl_->site_; }
Json Diagnosis::save() const { return impl_->save(); }
bool Diagnosis::restore(const Json& saved) { return impl_->restore(saved); }

}  // namespace coilward
