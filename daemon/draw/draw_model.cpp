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
// A 24 V transformer is 24 to 28 V (common practice), loaded or not.
constexpr double kSupplyAboveRated = 0.06, kSupplySd = 0.06, kTemperatureSd = 8.0;
// Wander. Mains within a few per cent through the day (EN 50160 allows 10), seasons of 10 K a quarter, levels
// that keep within half a per cent through a season.
constexpr double kSupplyFastSd = 0.015, kSupplyFastHours = 3.0;
constexpr double kSupplySlowPerDay = 0.003 * 0.003;
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
// What is seen of an inrush depends on where in the cycle the switch closed and how the sensor samples: from
// one sensor to another it may waver tenfold.
constexpr double kMostInrushScale = 60;
// The mains wander by a third to three times of what is usual.
constexpr double kLeastWander = 0.1, kMostWander = 9;

// One output wavers more than another: its valve seats at another moment of the cycle, or chatters. Learned
// from its own squared surprises, each cut where a fault would begin, in steps that a week does not carry
// far; a normal deviate's square cut there is 0.92 on average. Own judgement.
constexpr double kWaversOf = 20, kMostSurprise = 5, kMeanSurprise = 0.92;
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

DrawModel::DrawModel(const SiteElectrics& site) : site_(site), warm_up_(site.zones.size()) {
  temperature_ = filter_.add(0, square(kTemperatureSd));
  supply_slow_ = filter_.add(kSupplyAboveRated, square(kSupplySd));
  supply_fast_ = filter_.add(0, square(kSupplyFastSd));
  for (const auto& zone : site.zones) {
    hold_.push_back({filter_.add(-std::log(std::abs(zone.hold_impedance())),
                                 square(zone.rated ? kRatedSd : kUnratedSd))});
    inrush_.push_back({filter_.add(-std::log(std::abs(zone.inrush_impedance())),
                                   square(zone.rated ? kInrushSd : kUnratedSd))});
  }
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

std::vector<Loading> DrawModel::loadings(int index, bool inrush, bool volts_known) const {
  const auto i = static_cast<std::size_t>(index);
  std::vector<Loading> list = {{level(index, inrush).state, 1.0},
                               {temperature_, per_kelvin(site_.zones[i], inrush)}};
  if (!volts_known) {
    list.push_back({supply_slow_, 1.0});
    list.push_back({supply_fast_, 1.0});
  }
  return list;
}

// Today's forecast with the output's own level put back to where it was: what the filter has moved it since
// was known then no better than the variance it has lost.
Forecast DrawModel::anchored(int index, bool inrush, bool volts_known) const {
  Forecast out = filter_.forecast(loadings(index, inrush, volts_known));
  const Level& own = level(index, inrush);
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
  const Forecast expected = anchored(sample.index, inrush, sample.volts_known);
  const Level& own = level(sample.index, inrush);
  const double noise = scaled_noise(sample, inrush);
  // What the supply does within hours is another thing in the next run.
  auto lasting = loadings(sample.index, inrush, sample.volts_known);
  std::erase_if(lasting, [&](const Loading& it) { return it.state == supply_fast_; });
  const double anchoring =
      own.past.empty() ? 0 : std::max(0.0, own.past.front().variance - filter_.variance(own.state));
  LevelForecast out;
  out.amps = sample.amps_scale * std::exp(expected.mean);
  out.sd = std::sqrt(expected.variance + noise);
  out.lasting_sd = std::sqrt(std::min(filter_.forecast(lasting).variance + anchoring, expected.variance));
  out.own = own.past.empty() ? filter_.mean(own.state) : own.past.front().mean;
  return out;
}

DrawForecast DrawModel::forecast(const DrawSample& sample) const {
  return {level_forecast(sample, false), level_forecast(sample, true),
          warm_up_.forecast(sample.index, sample.warm_up)};
}

void DrawModel::observe(const DrawSample& sample, bool inrush, double weight) {
  const auto list = loadings(sample.index, inrush, sample.volts_known);
  const double value = std::log((inrush ? sample.inrush_amps : sample.hold_amps) / sample.amps_scale);
  Level& own = (inrush ? inrush_ : hold_)[static_cast<std::size_t>(sample.index)];
  const double noise = scaled_noise(sample, inrush);
  const Forecast expected = filter_.forecast(list);
  const double surprise = square(value - expected.mean) / (expected.variance + noise);
  // A run moves the scale of what it says most of: of the mains' wander where hours have passed, of noise
  // where little is unknown.
  if (!sample.volts_known && filter_.variance(supply_fast_) > (expected.variance + noise) / 2) {
    follow_median(wander_scale_, surprise, kLeastWander, kMostWander);
  } else if (expected.variance < 4 * noise) {
    follow_median(inrush ? inrush_scale_ : hold_scale_, surprise, kLeastScale,
                  inrush ? kMostInrushScale : kMostScale);
    own.wavers *= 1 + (std::min(surprise, kMostSurprise) / kMeanSurprise - 1) / kWaversOf;
    own.wavers = std::clamp(own.wavers, kLeastWavers, kMostWavers);
  }
  filter_.observe(list, value, noise / std::max(1e-3, weight * tail_weight(surprise)));
  if (++own.runs < kAnchoredAfter) return;
  own.past.push_back({filter_.mean(own.state), filter_.variance(own.state)});
  if (own.past.size() > kAnchorRuns) own.past.pop_front();
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
  const double keep = std::exp(-hours / kSupplyFastHours);
  filter_.relax(supply_fast_, keep, wander_scale_ * square(kSupplyFastSd) * (1 - keep * keep));
  filter_.diffuse(supply_slow_, kSupplySlowPerDay * days);
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
    own->past.clear();
  }
}

void DrawModel::follow_supply(double relative_sd) { filter_.diffuse(supply_slow_, square(relative_sd)); }

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

Json DrawModel::save() const {
  const auto levels = [](const std::vector<Level>& list) {
    Json json = Json::array();
    for (const Level& level : list) {
      Json past = Json::array();
      for (const Forecast& f : level.past) past.push_back({f.mean, f.variance});
      json.push_back({level.runs, level.wavers, past});
    }
    return json;
  };
  return {{"filter", filter_.save()},
          {"hold", levels(hold_)},
          {"inrush", levels(inrush_)},
          {"warm_up", warm_up_.save()},
          {"run_noise", run_noise_},
          {"passed", to_ms(passed_)},
          {"scale", {hold_scale_, inrush_scale_, wander_scale_}}};
}

bool DrawModel::restore(const Json& j) {
  if (j.at("hold").size() != hold_.size() || !filter_.restore(j.at("filter"))) return false;
  const auto levels = [](const Json& json, std::vector<Level>& list) {
    for (std::size_t i = 0; i < list.size(); ++i) {
      list[i].runs = json.at(i).at(0);
      list[i].past.clear();
      list[i].wavers = json.at(i).at(1);
      for (const auto& f : json.at(i).at(2)) list[i].past.push_back({f.at(0), f.at(1)});
    }
  };
  levels(j.at("hold"), hold_);
  levels(j.at("inrush"), inrush_);
  warm_up_.restore(j.at("warm_up"));
  run_noise_ = j.at("run_noise").get<std::vector<double>>();
  passed_ = from_ms(j.at("passed"));
  hold_scale_ = j.at("scale").at(0);
  inrush_scale_ = j.at("scale").at(1);
  wander_scale_ = j.at("scale").at(2);
  return true;
}

}  // namespace coilward
