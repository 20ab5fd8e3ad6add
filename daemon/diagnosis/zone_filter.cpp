#include "daemon/diagnosis/zone_filter.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

namespace coilward {

ZoneFilter::ZoneFilter(const ZoneElectrics& zone, double source_ohms)
    : hypotheses_(zone, source_ohms), before_(hypotheses_.first()) {}

ZoneFilter::Likelihoods ZoneFilter::likelihoods(const Observation& seen) const {
  std::vector<double> log(hypotheses_.size());
  for (std::size_t i = 0; i < log.size(); ++i) log[i] = log_likelihood(seen, hypotheses_[i].prediction);
  Likelihoods out{*std::max_element(log.begin(), log.end()), std::vector<float>(log.size())};
  for (std::size_t i = 0; i < log.size(); ++i)
    out.relative[i] = static_cast<float>(std::exp(log[i] - out.log_top));
  return out;
}

// Under an effect from outside, what the zone might have besides matters only where it is likely already:
// leaving the rest out makes weighing a cause fifteen times cheaper and moves no probability that is ever
// said.
constexpr double kWorthWeighing = 3e-5;

// One run further: returns the logarithm of how likely the observation was.
double ZoneFilter::advance(std::vector<double>& p, const Observation& seen, const Likelihoods& cached,
                           const std::optional<Prediction>& effect) const {
  hypotheses_.step(p);
  return effect ? advance_under(p, seen, *effect) : advance_alone(p, cached);
}

double ZoneFilter::advance_alone(std::vector<double>& p, const Likelihoods& cached) const {
  double sum = 0;
  for (std::size_t i = 0; i < p.size(); ++i) sum += p[i] *= static_cast<double>(cached.relative[i]);
  for (double& chance : p) chance /= sum;
  return cached.log_top + std::log(sum);
}

double ZoneFilter::advance_under(std::vector<double>& p, const Observation& seen,
                                 const Prediction& effect) const {
  std::vector<double> log(p.size(), 0.0);
  double top = -1e300;
  for (std::size_t i = 0; i < p.size(); ++i) {
    if (p[i] < kWorthWeighing) p[i] = 0;
    if (p[i] == 0) continue;
    log[i] = log_likelihood(seen, both(hypotheses_[i].prediction, effect));
    top = std::max(top, log[i]);
  }
  double sum = 0;
  for (std::size_t i = 0; i < p.size(); ++i)
    if (p[i] > 0) sum += p[i] *= std::exp(log[i] - top);
  for (double& chance : p) chance /= sum;
  return top + std::log(sum);
}

void ZoneFilter::add(const Observation& observation, const EffectAt& standing) {
  if (!window_.empty() && window_.back().start == observation.start) {
    window_.pop_back();
    cache_.pop_back();
  }
  window_.push_back(observation);
  cache_.push_back(likelihoods(observation));
  while (window_.size() > kWindow) {
    advance(before_, window_.front(), cache_.front(), standing(window_.front()));
    window_.pop_front();
    cache_.pop_front();
  }
}

std::vector<FilterResult> ZoneFilter::follow(const EffectAt& effect) const {
  std::vector<FilterResult> results = {{0, before_}};
  for (std::size_t i = 0; i < window_.size(); ++i) {
    FilterResult next = results.back();
    next.log_evidence += advance(next.distribution, window_[i], cache_[i], effect(window_[i]));
    results.push_back(std::move(next));
  }
  return results;
}

FilterResult ZoneFilter::follow_from(UtcTime from, const std::vector<FilterResult>& followed,
                                     const EffectAt& effect) const {
  std::size_t i = 0;
  while (i < window_.size() && window_[i].start < from) ++i;
  FilterResult result = followed[i];
  for (; i < window_.size(); ++i)
    result.log_evidence += advance(result.distribution, window_[i], cache_[i], effect(window_[i]));
  return result;
}

void ZoneFilter::refit(const ZoneElectrics& zone, double source_ohms) {
  hypotheses_ = ZoneHypotheses(zone, source_ohms);
  for (std::size_t i = 0; i < window_.size(); ++i) cache_[i] = likelihoods(window_[i]);
}

void ZoneFilter::restart() {
  before_ = hypotheses_.first();
  window_.clear();
  cache_.clear();
}

namespace {

constexpr double Observation::*kNumbers[] = {&Observation::hold_ratio,
                                             &Observation::hold_sd,
                                             &Observation::inrush_ratio,
                                             &Observation::inrush_sd,
                                             &Observation::zero_sd,
                                             &Observation::volts_ratio,
                                             &Observation::volts_sd,
                                             &Observation::zone_volts_ratio,
                                             &Observation::returned_ratio,
                                             &Observation::returned_sd,
                                             &Observation::before_cut_ratio,
                                             &Observation::expected_amps,
                                             &Observation::observed_amps,
                                             &Observation::expected_inrush_amps,
                                             &Observation::observed_inrush_amps};

Json observation_json(const Observation& o) {
  Json numbers = Json::array();
  for (const auto member : kNumbers) numbers.push_back(number_or_null(o.*member));
  return {o.index, to_ms(o.start), to_ms(o.seen), o.final,    o.cut_out,
          o.dips,  o.inferred,     o.volts_known, o.gap_seen, numbers};
}

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
  std::size_t next = 0;
  for (const auto member : kNumbers) {
    const Json& number = j.at(9).at(next++);
    o.*member = number.is_null() ? kNotMeasured : number.get<double>();
  }
  return o;
}

}  // namespace

Json ZoneFilter::save() const {
  Json before = Json::array(), window = Json::array();
  for (double chance : before_) before.push_back(number_or_null(chance));
  for (const auto& o : window_) window.push_back(observation_json(o));
  return {{"before", before}, {"window", window}};
}

void ZoneFilter::restore(const Json& saved) {
  auto before = saved.at("before").get<std::vector<double>>();
  if (before.size() != before_.size()) return;  // another configuration: start over
  before_ = std::move(before);
  window_.clear();
  cache_.clear();
  for (const auto& o : saved.at("window")) {
    window_.push_back(observation_from(o));
    cache_.push_back(likelihoods(window_.back()));
  }
}

}  // namespace coilward
