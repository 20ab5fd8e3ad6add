// What a site's sensors say, made up but repeatable: the one stream that everything in this folder is
// measured on, so that figures can be held side by side.
//
// Each zone has a sensor that reads once a second by a clock of its own (up to 100 ppm off, as crystals of
// small boards are) and is a few ms late, one reading in a hundred by tens of ms (a radio link; common
// practice). Values in steps of 1 mA: idle a zero of 0 to 3 mA with noise of 0.6 mA, running 200 to 300 mA
// falling by 4 % while the coil warms, noise 1.5 mA. Each zone runs a quarter of an hour a day, one after the
// other.
#pragma once

#include <random>
#include <vector>

#include "daemon/pipeline.h"

namespace coilward::bench {

class ReadingStream {
 public:
  // zones: 1..255. Same arguments, same readings, on every machine with the same standard library.
  ReadingStream(int zones, UtcTime start, std::uint64_t seed);

  // Appends the readings of the next second, one of each zone, in order of zones.
  void next_second(std::vector<Reading>& readings);
  std::vector<Reading> seconds(int count);
  UtcTime now() const { return now_; }

 private:
  struct Sensor {
    double offset_ms, drift, zero_ma, level_ma;
  };
  double milliamps(const Sensor& sensor, int zone, UtcTime time);

  std::mt19937_64 random_;
  std::normal_distribution<double> normal_{0, 1};
  std::vector<Sensor> sensors_;
  UtcTime start_, now_;
};

}  // namespace coilward::bench
