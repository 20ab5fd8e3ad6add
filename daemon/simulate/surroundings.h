// What moves a healthy site's currents from outside: the mains and the ground's and the air's temperature.
#pragma once

#include <vector>

#include "daemon/base/time.h"
#include "daemon/simulate/chance.h"

namespace coilward::simulate {

struct BrownOut {
  double begin_s = 0;
  double seconds = 600;
  double depth = 0.1;  // share of the voltage that is missing
};

struct SurroundingsPlan {
  double daily_volts = 0.008;  // relative, highest at night
  double slow_volts = 0.006;   // relative wander over tens of minutes
  double fast_volts = 0.002;   // relative wander over tens of seconds: other loads
  std::vector<BrownOut> brown_outs;
  double soil_mean = 13, soil_swing = 9;  // Celsius over the year, at the wires' depth
  double air_mean = 15, air_swing = 11, air_daily = 6;
  double hours_east = -6;  // of the sun's time against UTC
};

SurroundingsPlan draw_surroundings(std::uint64_t seed, double days);

// Thread: one. Times are seconds since the start and do not fall by more than a moment.
class Surroundings {
 public:
  Surroundings(SurroundingsPlan plan, std::uint64_t seed, UtcTime start);
  double volts_factor(double time);  // of the usual open-circuit voltage
  double soil_celsius(double time);
  double air_celsius(double time);

 private:
  double day_of_year(double time) const;
  double hour(double time) const;

  SurroundingsPlan plan_;
  UtcTime start_;
  Chance chance_;
  Wander slow_, fast_, soil_, air_;
  double factor_ = 1, factor_time_ = -1e9;
};

}  // namespace coilward::simulate
