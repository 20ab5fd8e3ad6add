#include "daemon/draw/draw_model.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "daemon/draw/robust.h"

namespace coilward {
namespace {

// Before anything is known. Rated currents are printed to one or two digits and coils of one make differ
// (common practice: 10 %); without them the trade's range 0.2-0.3 A and odd ones beyond it.
constexpr double kRatedSd = 0.15, kUnratedSd = 0.40, kInrushSd = 0.30;
constexpr double kTemperatureSd = 8.0;
// Wander: seasons of 10 K a quarter, levels that keep within half a per cent through a season.
constexpr double kTemperaturePerDay = 0.8 * 0.8;
constexpr double kLevelPerDay = 0.005 * 0.005 / 90;
// What the level of one run wavers by, beyond its readings' own noise: warm coil or cold, where in the
// minute.
constexpr double kRunSd = 0.004, kInrushRunSd = 0.012;
constexpr double kThermometerSd = 3.0;  // soil at the sensor is not soil along the wire
// Volts are seldom read at the same instants as the current; own judgement.
constexpr double kMainsRunSd = 0.003;
// Learned noise scales keep within these.
constexpr double kLeastScale = 0.3, kMostScale = 25;
// More of the supply than of its output is told by a run that leaves so many times its own noise open; own
// judgement.
constexpr double kUnsure = 3;
// What is seen of an inrush depends on where in the cycle the switch closed and how the sensor samples: from
// one sensor to another it may waver tenfold.
constexpr double kMostInrushScale = 60;
// One output wavers more than another: its valve seats at another moment of the cycle, or chatters. Learned
// from what lies between its runs, squared, each cut where a fault would begin, in steps that a week does not
// carry far. Own judgement.
constexpr double kWaversOf = 20;
constexpr double kLeastWavers = 0.6, kMostWavers = 16;

// How many readings the level is from: those of the first minute, without the switch-on's burst.
double level_readings(const Run& run) {
  const double singles = run.readings - std::min<double>(run.readings, static_cast<double>(run.burst.size()));
  const double minutes = run.end == kNever ? 1 : std::max(1.0, seconds_between(run.start, run.end) / 60);
  return std::clamp(singles / minutes, 1.0, 60.0);
}

// How much the output's current falls for one kelvin of its copper, relative.
double per_kelvin(const ZoneElectrics& zone, bool inrush) {
  const double ohms = zone.copper_ohms() + zone.coil_ohms;
  const double impedance = std::abs(inrush ? zone.inrush_impedance() : zone.hold_impedance());
  return -kCopperPerKelvin * ohms * ohms / (impedance * impedance);
}

}  // namespace

DrawModel::DrawModel(const SiteElectrics& site)
    : site_(site),
      temperature_(filter_.add(0, square(kTemperatureSd))),
      mains_(filter_),
      warm_up_(site.zones.size()) {
  for (const auto& zone : site.zones) {
    hold_.push_back({filter_.add(-std::log(std::abs(zone.hold_impedance())),
                                 square(zone.rated ? kRatedSd : kUnratedSd))});
    inrush_.push_back({filter_.add(-std::log(std::abs(zone.inrush_impedance())),
                                   square(zone.rated ? kInrushSd : kUnratedSd))});
  }
  mains_.keep_for(site.zones.size());
  run_noise_.assign(site.zones.size(), 0.01);
}

// Another output on at the same time loads the source and the shared copper: amps with it over amps without.
double DrawModel::shared_ratio(const Run& run, const std::vector<double>& loads, bool volts_known) const {
  if (run.shared_with.empty()) return 1;
  const ZoneElectrics mine = electrics(site_.index_of(run.zone));
  const double source = volts_known ? 0 : site_.source_ohms;
  std::complex<double> drop = 0;  // ohms of shared path, weighted by the other's share of current
  for (std::size_t i = 0; i < run.shared_with.size(); ++i) {
    const int at = site_.index_of(run.shared_with[i]);
    if (at < 0) continue;
    const ZoneElectrics theirs = electrics(at);
    const double path = theirs.common == mine.common ? std::min(mine.common_ohms, theirs.common_ohms) : 0;
    drop +=
        (loads.empty() ? 1 : loads[i]) * (source + path) * mine.hold_impedance() / theirs.hold_impedance();
  }
  const std::complex<double> alone = mine.hold_impedance() + source;
  return std::abs(alone) / std::abs(alone + drop);
}

DrawSample DrawModel::sample(const Run& run, const std::vector<double>& loads) const {
  DrawSample sample;
  sample.index = site_.index_of(run.zone);
  sample.time = run.start;
  if (sample.index < 0) return sample;
  const auto index = static_cast<std::size_t>(sample.index);
  // Volts far below the rating are a supply that failed, which is not for this model to explain away.
  // One sensor for all outputs, where there is one.
  const double volts = measured(run.supply_volts) ? run.supply_volts : run.zone_volts;
  sample.volts_known = measured(volts) && volts > 0.5 * site_.rated_volts;
  // Without volts the level is "amps at rated volts": the source's own drop is part of it.
  sample.amps_scale =
      (sample.volts_known ? volts : site_.rated_volts) * shared_ratio(run, loads, sample.volts_known);
  const double zero = measured(run.idle_amps) ? run.idle_amps : 0;
  if (measured(run.hold_amps)) sample.hold_amps = run.hold_amps - zero;
  if (measured(run.inrush_amps)) sample.inrush_amps = run.inrush_amps - zero;
  const double spread =
      measured(run.hold_amps) && run.hold_amps > 0.02 ? run.hold_spread_amps / run.hold_amps : 0;
  const double readings = level_readings(run);
  const double shared = run.shared_with.empty() ? 0 : 0.01;  // the circuit's numbers are the configuration's
  const double mains = sample.volts_known ? kMainsRunSd : 0;
  sample.hold_noise = std::sqrt(square(kRunSd) + (square(spread) + square(run_noise_[index])) / readings +
                                square(shared) + square(mains));
  sample.inrush_noise = std::sqrt(square(kInrushRunSd) + square(run_noise_[index]) + square(shared));
  sample.soil_celsius = run.soil_celsius;
  if (run.readings >= 8) sample.spread = spread;
  sample.warm_up = WarmUpModel::seen(run);
  return sample;
}

std::vector<Loading> DrawModel::loadings(int index, bool inrush) const {
  const auto i = static_cast<std::size_t>(index);
  return {{level(index, inrush).state, 1.0}, {temperature_, per_kelvin(site_.zones[i], inrush)}};
}

std::vector<Loading> DrawModel::now(const DrawSample& sample, bool inrush) const {
  auto list = loadings(sample.index, inrush);
  if (sample.volts_known) return list;
  for (const Loading& part : mains_.now()) list.push_back(part);
  return list;
}

std::vector<Loading> DrawModel::lasting(const DrawSample& sample, bool inrush) const {
  auto list = loadings(sample.index, inrush);
  if (!sample.volts_known) list.push_back(mains_.lasting());
  return list;
}

std::vector<Loading> DrawModel::then(const DrawSample& sample, bool inrush) const {
  const auto supply = mains_.then(static_cast<std::size_t>(sample.index), sample.time);
  if (sample.volts_known || !supply) return now(sample, inrush);
  auto list = loadings(sample.index, inrush);
  list.push_back(*supply);
  return list;
}

// Beyond what lasts: that is the output's own, and known as well tomorrow as today.
bool DrawModel::supply_unsure(const DrawSample& sample) const {
  if (sample.volts_known || !measured(sample.hold_amps)) return false;
  const double all = filter_.forecast(then(sample, false)).variance;
  return all > filter_.forecast(lasting(sample, false)).variance + kUnsure * scaled_noise(sample, false);
}

double DrawModel::residual(const DrawSample& sample) const {
  return std::log(std::max(sample.hold_amps, 1e-4) / sample.amps_scale) -
         filter_.forecast(then(sample, false)).mean;
}

double DrawModel::off(const DrawSample& sample) const {
  return residual(sample) /
         std::sqrt(filter_.forecast(then(sample, false)).variance + scaled_noise(sample, false));
}

double DrawModel::apart(const DrawSample& a, const DrawSample& b) const {
  auto between = then(a, false);
  for (const Loading& it : then(b, false)) between.push_back({it.state, -it.weight});
  const double noise = scaled_noise(a, false) + scaled_noise(b, false);
  return (residual(a) - residual(b)) / std::sqrt(filter_.covariance(between, between) + noise);
}

void DrawModel::began(int index, UtcTime start) { mains_.began(static_cast<std::size_t>(index), start); }

// Today's forecast with the output's own level put back to where it was: what the filter has moved it since
// was known then no better than the variance it has lost.
Forecast DrawModel::anchored(const DrawSample& sample, bool inrush) const {
  Forecast out = filter_.forecast(then(sample, inrush));
  const Level& own = level(sample.index, inrush);
  if (own.past.empty()) return out;
  out.mean += own.past.front().mean - filter_.mean(own.state);
  out.variance += std::max(0.0, own.past.front().variance - filter_.variance(own.state));
  return out;
}

// Of one run's level, variance, as this site and this output have turned out.
double DrawModel::scaled_noise(const DrawSample& sample, bool inrush) const {
  const double scale = (inrush ? inrush_scale_ : hold_scale_) * level(sample.index, inrush).wavers;
  return scale * square(inrush ? sample.inrush_noise : sample.hold_noise);
}

LevelForecast DrawModel::level_forecast(const DrawSample& sample, bool inrush) const {
  const Forecast expected = anchored(sample, inrush);
  const Level& own = level(sample.index, inrush);
  const double noise = scaled_noise(sample, inrush);
  // What the supply does within hours and days is another thing in the next run.
  const double anchoring =
      own.past.empty() ? 0 : std::max(0.0, own.past.front().variance - filter_.variance(own.state));
  LevelForecast out;
  out.amps = sample.amps_scale * std::exp(expected.mean);
  out.sd = std::sqrt(expected.variance + noise);
  out.lasting_sd =
      std::sqrt(std::min(filter_.forecast(lasting(sample, inrush)).variance + anchoring, expected.variance));
  out.own = own.past.empty() ? filter_.mean(own.state) : own.past.front().mean;
  return out;
}

DrawForecast DrawModel::forecast(const DrawSample& sample) const {
  return {level_forecast(sample, false), level_forecast(sample, true),
          warm_up_.forecast(sample.index, sample.warm_up)};
}

// By what lies between one run and the next, not by how far both are off: what drifts slowly does not waver
// (mean square successive difference; von Neumann 1941).
void DrawModel::waver(Level& own, double off, double variance) {
  if (measured(own.off)) {
    const double surprise = square(off - own.off) / (2 * variance);
    own.wavers *= 1 + (std::min(surprise, kMostSurprise) / kMeanSurprise - 1) / kWaversOf;
    own.wavers = std::clamp(own.wavers, kLeastWavers, kMostWavers);
  }
  own.off = off;
}

void DrawModel::observe(const DrawSample& sample, bool inrush, double weight) {
  const auto list = then(sample, inrush);
  const double value = std::log((inrush ? sample.inrush_amps : sample.hold_amps) / sample.amps_scale);
  Level& own = (inrush ? inrush_ : hold_)[static_cast<std::size_t>(sample.index)];
  const double noise = scaled_noise(sample, inrush);
  const Forecast expected = filter_.forecast(list);
  const double surprise = square(value - expected.mean) / (expected.variance + noise);
  const double total = expected.variance + noise;
  if (!sample.volts_known) mains_.follow(surprise, total);
  // Where little else is unknown it says how noisy a run is.
  if (expected.variance < 4 * noise) {
    follow_median(inrush ? inrush_scale_ : hold_scale_, surprise, kLeastScale,
                  inrush ? kMostInrushScale : kMostScale);
    waver(own, value - expected.mean, total);
  }
  filter_.observe(list, value, noise / std::max(1e-3, weight * tail_weight(surprise)));
  if (++own.runs < kAnchoredAfter) return;
  own.past.push_back({filter_.mean(own.state), filter_.variance(own.state)});
  if (own.past.size() > kAnchorRuns) own.past.pop_front();
}

void DrawModel::follow_today(const DrawSample& sample) {
  const auto list = then(sample, false);
  const double value = std::log(sample.hold_amps / sample.amps_scale);
  filter_.consider(list, value, scaled_noise(sample, false), mains_.today());
}

void DrawModel::learn(const DrawSample& sample, double weight) {
  pass(sample.time);
  const auto index = static_cast<std::size_t>(sample.index);
  if (measured(sample.soil_celsius)) {
    const Loading list[] = {{temperature_, 1.0}};
    filter_.observe(list, sample.soil_celsius - 20, square(kThermometerSd));
  }
  if (measured(sample.hold_amps) && sample.hold_amps > 0) {
    observe(sample, false, weight);
    if (measured(sample.spread))
      run_noise_[index] += 0.1 * (std::min(sample.spread, 0.05) - run_noise_[index]);
  }
  warm_up_.learn(sample.index, sample.warm_up, weight);
  // A burst without a peak came too late to show the inrush.
  if (measured(sample.inrush_amps) && sample.inrush_amps > kLeastInrush * sample.hold_amps)
    observe(sample, true, weight);
}

void DrawModel::pass(UtcTime now) {
  if (passed_ == kNever) passed_ = now;
  if (now <= passed_) return;
  const double hours = seconds_between(passed_, now) / 3600.0, days = hours / 24;
  passed_ = now;
  mains_.pass(hours);
  filter_.relax(temperature_, std::exp(-days / 365), kTemperaturePerDay * days);
  for (std::size_t i = 0; i < hold_.size(); ++i) {
    filter_.diffuse(hold_[i].state, kLevelPerDay * days);
    filter_.diffuse(inrush_[i].state, kLevelPerDay * days);
  }
}

void DrawModel::forget(int index) {
  const auto i = static_cast<std::size_t>(index);
  const auto& zone = site_.zones[i];
  filter_.forget(hold_[i].state, -std::log(std::abs(zone.hold_impedance())),
                 square(zone.rated ? 2 * kRatedSd : kUnratedSd));
  filter_.forget(inrush_[i].state, -std::log(std::abs(zone.inrush_impedance())), square(kUnratedSd));
  warm_up_.forget(index);
  for (Level* own : {&hold_[i], &inrush_[i]}) {
    own->runs = 0;
    own->wavers = 1;
    own->off = kNotMeasured;
    own->past.clear();
  }
}

void DrawModel::follow_supply(double relative_sd) { mains_.moved(relative_sd); }

ZoneElectrics DrawModel::electrics(int index) const {
  const auto i = static_cast<std::size_t>(index);
  const double hold = std::exp(filter_.mean(hold_[i].state));
  const double inrush = inrush_known(index) ? std::exp(filter_.mean(inrush_[i].state)) : kNotMeasured;
  return fitted(site_.zones[i], 1.0, hold, inrush);
}

NormalDraw DrawModel::normal(int index, double supply_volts) const {
  DrawSample typical;
  typical.index = index;
  typical.volts_known = measured(supply_volts) && supply_volts > 0.5 * site_.rated_volts;
  typical.amps_scale = typical.volts_known ? supply_volts : site_.rated_volts;
  const double noise = run_noise_[static_cast<std::size_t>(index)];
  typical.hold_noise = std::sqrt(square(kRunSd) + square(noise) / 10);
  typical.inrush_noise = std::sqrt(square(kInrushRunSd) + square(noise));
  const DrawForecast f = forecast(typical);
  NormalDraw out;
  out.zone = site_.zones[static_cast<std::size_t>(index)].zone;
  out.runs = runs(index);
  out.provisional = provisional(index);
  out.hold_amps = f.hold.amps;
  out.hold_low = f.hold.amps * std::exp(-1.96 * f.hold.sd);
  out.hold_high = f.hold.amps * std::exp(1.96 * f.hold.sd);
  if (inrush_known(index)) {
    out.inrush_amps = f.inrush.amps;
    out.inrush_low = f.inrush.amps * std::exp(-1.96 * f.inrush.sd);
    out.inrush_high = f.inrush.amps * std::exp(1.96 * f.inrush.sd);
  }
  return out;
}

}  // namespace coilward
