// A technician at a new site, asked step by step: boxes and lengths, then each zone switched on at the
// controller, its sensor seen, its coil judged; at the end a configuration. What is live comes through a
// function, so that this knows neither daemon nor broker. Thread: one; waits by `pause`.
#pragma once

#include <functional>
#include <map>
#include <string>

#include "daemon/commission/dialogue.h"
#include "daemon/commission/sensor_moves.h"
#include "daemon/config/config.h"

namespace coilward {

struct CommissionLinks {
  std::function<Result<LiveZones>()> live;
  std::function<void(Millis)> pause;  // between two looks
  double wait_s = 60;                 // for a sensor to move
  double settle_s = 1.5;              // after its first rise: the plunger has seated, the level stands
};

struct Commissioned {
  Config config;                     // as it was answered
  std::map<int, std::string> notes;  // by zone: what was seen, for a comment
};

// `start`: what is known already; its zones are walked through. world: the answers ended, or the daemon did.
Result<Commissioned> commission_site(Dialogue& dialogue, const CommissionLinks& links, Config start);

}  // namespace coilward
