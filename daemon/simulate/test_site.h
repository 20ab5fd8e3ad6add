// A small site for tests: six zones along A - B - C, two a box, zone 6 with two valves, quiet sensors that
// send plain numbers, a minute a zone each day, steady mains. And what a recording of it holds, by
// channel.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "daemon/simulate/simulation.h"

namespace coilward::simulate {

inline constexpr double kTurn = 60;  // seconds

Config test_config();
// Faults are written as on the command line.
Scenario test_scenario(const std::vector<std::string>& faults, double days = 4);

struct Seen {
  double time = 0;  // seconds since the start
  double value = 0;
};

// All numbers published, by channel text ("zone/4/current").
class SeenChannels {
 public:
  explicit SeenChannels(Scenario scenario);
  // Mean of a zone's (or another channel's) readings from 5 s after the start of a zone's run to 5 s before
  // its end; NaN: no reading.
  double mean(const std::string& channel, int zone, int day) const;
  double current(int zone, int day) const;  // mean of its own current
  std::size_t count(const std::string& channel, double from_s, double to_s) const;
  const std::vector<Seen>& of(const std::string& channel) const;
  const Json& truth() const { return truth_; }
  bool ran(int zone, int day) const;  // its command was on

 private:
  double start_of(int zone, int day) const;
  std::map<std::string, std::vector<Seen>> channels_;
  std::map<std::pair<int, int>, double> starts_;
  Json truth_;
};

}  // namespace coilward::simulate
