// For tests of the run tracker: one to three outputs, readings by hand, what was told kept.
#pragma once

#include <algorithm>
#include <memory>
#include <vector>

#include "daemon/runs/run_tracker.h"

namespace coilward {

struct HandSite : RunListener {
  Config config;
  std::vector<std::pair<coilward::Run, Look>> looks;
  std::vector<IdleEvent> events;
  std::unique_ptr<RunTracker> tracker;
  UtcTime now = *parse_rfc3339("2026-05-04T05:00:00Z");

  explicit HandSite(int zones = 1) {
    for (int i = 1; i <= zones; ++i) {
      ZoneConfig zone;
      zone.number = i;
      config.zones.push_back(zone);
    }
    config.commons.push_back({"main", {2.08, 14, false}});
    tracker = std::make_unique<RunTracker>(config, *this);
  }
  void on_look(const coilward::Run& run, Look look) override { looks.emplace_back(run, look); }
  void on_idle(const IdleEvent& event) override { events.push_back(event); }

  void command(int zone, bool on) {
    tracker->reading(
        {{ChannelKind::zone_command, static_cast<std::uint8_t>(zone)}, now, on ? 1.0 : 0.0, false});
  }
  void amps(int zone, double amps) {
    tracker->advance(now);
    tracker->reading({{ChannelKind::zone_current, static_cast<std::uint8_t>(zone)}, now, amps, false});
  }
  // One value a second; a little up and down, as sensors are.
  void carry(int zone, double level, int seconds) {
    for (int i = 0; i < seconds; ++i) {
      now += Millis{1000};
      amps(zone, level + (i % 3) * 0.001);
    }
  }
  const coilward::Run* finished(std::size_t which = 0) const {
    for (const auto& [run, look] : looks)
      if (look == Look::finished && which-- == 0) return &run;
    return nullptr;
  }
  std::size_t count(IdleKind kind) const {
    return static_cast<std::size_t>(
        std::count_if(events.begin(), events.end(), [&](const auto& e) { return e.kind == kind; }));
  }
};

}  // namespace coilward
