// Whether the whole path works, from the sensors to the people: what a heartbeat vouches for. Thread: any.
#pragma once

#include <string>

#include "daemon/config/config.h"

namespace coilward {

// Signs of each stage. Ages are in seconds; kNotMeasured: never so far.
struct PathSigns {
  bool broker = false;                    // connected
  double reading_age_s = kNotMeasured;    // since a reading was taken in
  double caught_up_age_s = kNotMeasured;  // since the diagnosis had everything there was
  bool store = false;                     // history and state can be written
  double commit_age_s = 0;       // since something was given to the store that it has not written yet
  std::string failing_notifier;  // one that fails three times in a row; empty: none
  double outbox_age_s = 0;       // since the oldest message waits; 0: none does
  bool clock = false;            // the time is known
};

inline constexpr double kDiagnosisHangs_s = 30;  // it looks once a second (own choice)
inline constexpr double kStoreHangs_s = 90;      // a commit to a tired card takes seconds (own choice)
inline constexpr double kOutboxStuck_s = 900;    // three tries are over within seconds (own choice)

// What is not sound, the first of the path, in words; empty: all is.
std::string not_sound(const PathSigns& signs, const HeartbeatConfig& config);

}  // namespace coilward
