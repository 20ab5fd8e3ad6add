#include "daemon/simulate/surroundings.h"
#include "daemon/simulate/day.h"

#include <cmath>
#include <numbers>

namespace coilward::simulate {
namespace {

constexpr double kWarmestDay = 205;  // late July; soil lags behind
constexpr double kSoilLagDays = 20;

double wave(double turns) { return std::cos(2 * std::numbers::pi * turns); }

}  // namespace

SurroundingsPlan draw_surroundings(std::uint64_t seed, double days) {
  Chance chance(seed, "surroundings");
  SurroundingsPlan plan;
  plan.daily_volts = chance.between(0.002, 0.015);
  plan.slow_volts = chance.between(0.002, 0.012);
  plan.fast_volts = chance.between(0.0005, 0.004);
  plan.soil_mean = chance.between(8, 20);
  plan.soil_swing = chance.between(4, 12);
  plan.air_mean = plan.soil_mean + chance.between(-1, 2);
  plan.air_swing = plan.soil_swing + chance.between(0, 4);
  plan.air_daily = chance.between(3, 9);
  plan.hours_east = chance.between(-9, 9);
  for (double day = chance.scale(5, 60); day < days; day += chance.scale(5, 60))
    plan.brown_outs.push_back({day * kDay, chance.scale(20, 2400), chance.between(0.05, 0.16)});
  return plan;
}

Surroundings::Surroundings(SurroundingsPlan plan, std::uint64_t seed, UtcTime start)
    : plan_(std::move(plan)),
      start_(start),
      chance_(seed, "weather and mains"),
      slow_(plan_.slow_volts, 1500),
      fast_(plan_.fast_volts, 40),
      soil_(1.0, 5 * kDay),
      air_(2.5, 1.5 * kDay) {}

double Surroundings::day_of_year(double time) const {
  return std::fmod(static_cast<double>(to_ms(start_)) / 1000 / kDay + time / kDay, 365.2422);
}

double Surroundings::hour(double time) const {
  return std::fmod(static_cast<double>(to_ms(start_)) / 1000 / 3600 + time / 3600 + plan_.hours_east + 48,
                   24);
}

double Surroundings::volts_factor(double time) {
  if (time < factor_time_ + 1) return factor_;
  factor_time_ = time;
  factor_ =
      1 + plan_.daily_volts * wave((hour(time) - 3) / 24) + slow_.at(time, chance_) + fast_.at(time, chance_);
  for (const BrownOut& it : plan_.brown_outs)
    if (time >= it.begin_s && time < it.begin_s + it.seconds) factor_ *= 1 - it.depth;
  return factor_;
}

double Surroundings::soil_celsius(double time) {
  return plan_.soil_mean +
         plan_.soil_swing * wave((day_of_year(time) - kWarmestDay - kSoilLagDays) / 365.2422) +
         0.4 * wave((hour(time) - 20) / 24) + soil_.at(time, chance_);
}

double Surroundings::air_celsius(double time) {
  return plan_.air_mean + plan_.air_swing * wave((day_of_year(time) - kWarmestDay) / 365.2422) +
         plan_.air_daily * wave((hour(time) - 15) / 24) + air_.at(time, chance_);
}

}  // namespace coilward::simulate
