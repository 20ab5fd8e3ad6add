#include "daemon/diagnosis/zone_filter.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

namespace coilward {

ZoneFilter::ZoneFilter(const ZoneElectrics& zone, double source_ohms)
    : hypotheses_(zone, source_ohms), trail_{{0, hypotheses_.first()}} {}

namespace {

// Under an effect from outside, what the zone might have besides matters only where it is likely already:
// leaving the rest out makes weighing a cause cheaper. The bound lies below the
// chance with which a fault of one size begins in a day: else none that begins while the effect acts would be
// weighed at all, and something else would take its place.
constexpr double kWorthWeighing = 1e-6;

// What an effect leaves open is the same in every run that it acts on: it comes and goes with the effect.
void loosen(Belief& belief, const Prediction& by) {
  for (auto& it : belief) {
    it.slacks.hold.variance += by.hold_tolerance * by.hold_tolerance;
    it.slacks.inrush.variance += by.inrush_tolerance * by.inrush_tolerance;
    it.slacks.fall.variance += by.fall_variance();
  }
}

// What begins just now, beside what goes on: where one is so much the likelier, the other is not weighed by
// itself. What goes on has seen a run before and gains by that some tens at most; what begins may fit by
// far better.
constexpr double kBeginsWorth = 1e-6, kGoesOnWorth = 1e-3;

// Weighs a hypothesis by both ways to it; returns its weight then.
template <class BegunSlacks>
double weigh_ways(const Observation& seen, const Prediction& expected, Hypothetical& it, double begins,
                  const BegunSlacks& begun_slacks) {
  if (begins <= kBeginsWorth * it.chance) return (it.chance += begins) *= weigh(seen, expected, it.slacks);
  Hypothetical begun{begins, begun_slacks()};
  if (it.chance <= kGoesOnWorth * begins) {
    begun.chance += it.chance;
    begun.chance *= weigh(seen, expected, begun.slacks);
    it = begun;
    return it.chance;
  }
  it.chance *= weigh(seen, expected, it.slacks);
  begun.chance *= weigh(seen, expected, begun.slacks);
  if (it.chance + begun.chance > 0) it.slacks = mixed(it.slacks, it.chance, begun.slacks, begun.chance);
  return it.chance += begun.chance;
}

}  // namespace

// One run further.
void ZoneFilter::advance(Followed& state, const Observation* last, const Observation& seen,
                         const Effects& effects) const {
  Belief& belief = state.belief;
  const auto& effect = effects.now;
  const auto begins = hypotheses_.step(belief, last, seen, effect ? kWorthWeighing : 0);
  if (effect.has_value() != effects.before.has_value()) loosen(belief, effect ? *effect : *effects.before);
  const Slacks sound = belief[0].slacks;
  double sum = 0;
  for (std::size_t i = 0; i < belief.size(); ++i) {
    if (belief[i].chance + begins[i] == 0) continue;
    const Prediction& alone = hypotheses_[i].prediction;
    const Prediction expected = effect ? both(alone, *effect) : alone;
    sum += weigh_ways(seen, expected, belief[i], begins[i],
                      [&] { return hypotheses_.begun_slacks(i, sound, seen); });
  }
  for (auto& it : belief) it.chance /= sum;
  state.log_evidence += std::log(sum);
}

const Observation* ZoneFilter::before(std::size_t position) const {
  if (position > 0) return &window_[position - 1];
  return left_ ? &*left_ : nullptr;
}

void ZoneFilter::add(const Observation& observation) {
  if (!window_.empty() && window_.back().start == observation.start) {
    window_.pop_back();
    most_.pop_back();
    if (trail_.size() > window_.size() + 1) trail_.pop_back();
  }
  window_.push_back(observation);
  most_.push_back(std::log(most_likely(observation)));
}

void ZoneFilter::follow(const EffectAt& standing, std::uint64_t version) {
  if (version != version_) trail_.resize(1);
  version_ = version;
  while (trail_.size() <= window_.size()) {
    const std::size_t next = trail_.size() - 1;
    trail_.push_back(trail_.back());
    const Observation* last = before(next);
    advance(trail_.back(), last, window_[next],
            {standing(window_[next]), last ? standing(*last) : std::nullopt});
  }
  while (window_.size() > kWindow) {
    left_ = window_.front();
    window_.pop_front();
    most_.pop_front();
    trail_.pop_front();
  }
}

std::size_t ZoneFilter::position_of(UtcTime from) const {
  std::size_t i = 0;
  while (i < window_.size() && window_[i].start < from) ++i;
  return i;
}

double ZoneFilter::best_evidence_from(UtcTime from) const {
  double sum = 0;
  for (std::size_t i = position_of(from); i < window_.size(); ++i) sum += most_[i];
  return sum;
}

Followed ZoneFilter::follow_from(UtcTime from, const EffectAt& effect) const {
  std::size_t i = position_of(from);
  Followed state = trail_[i];
  const Observation* last = before(i);
  Effects effects{std::nullopt, last ? effect(*last) : std::nullopt};
  for (; i < window_.size(); ++i) {
    effects.now = effect(window_[i]);
    advance(state, before(i), window_[i], effects);
    effects.before = std::move(effects.now);
  }
  return state;
}

void ZoneFilter::refit(const ZoneElectrics& zone, double source_ohms) {
  hypotheses_ = ZoneHypotheses(zone, source_ohms);
  trail_.resize(1);
}

void ZoneFilter::restart() {
  left_.reset();
  window_.clear();
  most_.clear();
  trail_ = {{0, hypotheses_.first()}};
}

namespace {

constexpr double Observation::*kNumbers[] = {&Observation::hold_ratio,
                                             &Observation::hold_sd,
                                             &Observation::hold_lasting_sd,
                                             &Observation::hold_own,
                                             &Observation::inrush_ratio,
                                             &Observation::inrush_sd,
                                             &Observation::inrush_lasting_sd,
                                             &Observation::inrush_own,
                                             &Observation::zero_sd,
                                             &Observation::volts_ratio,
                                             &Observation::volts_sd,
                                             &Observation::zone_volts_ratio,
                                             &Observation::returned_ratio,
                                             &Observation::returned_sd,
                                             &Observation::returned_lasting_sd,
                                             &Observation::returned_own,
                                             &Observation::own_share,
                                             &Observation::back_ratio,
                                             &Observation::fall,
                                             &Observation::usual_fall,
                                             &Observation::fall_sd,
                                             &Observation::fall_lasting_sd,
                                             &Observation::before_cut_ratio,
                                             &Observation::expected_amps,
                                             &Observation::observed_amps,
                                             &Observation::expected_inrush_amps,
                                             &Observation::observed_inrush_amps};

Json observation_json(const Observation& o) {
  Json numbers = Json::array();
  for (const auto member : kNumbers) numbers.push_back(number_or_null(o.*member));
  return {o.index,    to_ms(o.start), to_ms(o.seen), o.final,  o.cut_out, o.dips,
          o.inferred, o.volts_known,  o.gap_seen,    o.taught, o.over,    numbers};
}

Json slack_json(const Slack& slack) { return {slack.mean, slack.variance}; }
Slack slack_from(const Json& json) { return {json.at(0), json.at(1)}; }

double number_from(const Json& json) { return json.is_null() ? kNotMeasured : json.get<double>(); }

Observation observation_from(const Json& j) {
  Observation o;
  o.index = j.at(0);
  o.start = from_ms(j.at(1));
  o.seen = from_ms(j.at(2));
  o.final = j.at(3);
  o.cut_out = j.at(4);
  o.dips = j.at(5);
  o.inferred = j.at(6);
  o.volts_known = j.at(7);
  o.gap_seen = j.at(8);
  o.taught = j.at(9);
  o.over = j.at(10);
  std::size_t next = 0;
  for (const auto member : kNumbers) o.*member = number_from(j.at(11).at(next++));
  return o;
}

}  // namespace

Json ZoneFilter::save() const {
  Json before = Json::array(), window = Json::array();
  for (const auto& it : trail_.front().belief)
    before.push_back({it.chance, slack_json(it.slacks.hold), slack_json(it.slacks.inrush),
                      slack_json(it.slacks.returned), slack_json(it.slacks.fall),
                      number_or_null(it.slacks.unseated), slack_json(it.slacks.out)});
  for (const auto& o : window_) window.push_back(observation_json(o));
  return {{"before", before}, {"left", left_ ? observation_json(*left_) : Json()}, {"window", window}};
}

void ZoneFilter::restore(const Json& saved) {
  Belief belief;
  for (const auto& it : saved.at("before"))
    belief.push_back({it.at(0),
                      {slack_from(it.at(1)), slack_from(it.at(2)), slack_from(it.at(3)), slack_from(it.at(4)),
                       number_from(it.at(5)), it.size() > 6 ? slack_from(it.at(6)) : Slack{}}});
  if (belief.size() != hypotheses_.size()) return;  // another configuration: start over
  trail_ = {{0, std::move(belief)}};
  left_.reset();
  if (!saved.at("left").is_null()) left_ = observation_from(saved.at("left"));
  window_.clear();
  most_.clear();
  for (const auto& o : saved.at("window")) add(observation_from(o));
}

}  // namespace coilward
