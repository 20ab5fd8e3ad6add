// What each zone drew in its latest runs, and what a forecast makes of it: shares of what it would draw now
// without a fault, with what moves all zones together (season, supply) taken out by what the others drew.
// No clock, thread or file.
#pragma once

#include <deque>
#include <map>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/forecast/draw_forecast.h"
#include "daemon/pipeline.h"

namespace coilward {

// Runs sooner than this after the last one kept are left out: a splice takes weeks, and the record is part of
// every snapshot (own choice).
inline constexpr Millis kRecordEvery = std::chrono::hours{18};

// Thread: one at a time.
class DrawRecord {
 public:
  // A finished run. Those without a level, beside other zones, inferred, cut out or with somebody at work on
  // it say nothing.
  void run(const Run& run);
  // Its splice or coil is another one from now on.
  void forget(int zone);

  // Oldest first, of the zones that one fault makes fall alike; DrawShare::scale is by the level of `of`, one
  // of them. normals: of all zones. Empty when that of `of` is not learned yet.
  std::vector<DrawShare> shares(int of, const std::vector<int>& zones,
                                const std::vector<NormalDraw>& normals) const;

  Json save() const;
  void restore(const Json& saved);  // throws nlohmann::json::exception on another shape

 private:
  struct Point {
    UtcTime time = kNever;
    double amps = 0;
  };
  using Levels = std::map<int, double>;  // normal hold amps by zone
  double shared_part(UtcTime time, const std::vector<int>& but, const Levels& levels) const;

  std::map<int, std::deque<Point>> zones_;
};

}  // namespace coilward
