// A small site for tests of the stages from reading to finding: phasors by hand, noise by seed, one zone
// after the other. Invented numbers; shares no code with the stages it feeds.
#pragma once

#include <algorithm>
#include <cmath>
#include <complex>
#include <functional>
#include <random>
#include <vector>

#include "daemon/diagnosis/diagnosis.h"

namespace coilward {

struct FakeZone {
  int number = 1;
  int box = 0;
  double coil_ohms = 30, seated_ohms = 95, open_ohms = 48;
  // what is wrong
  bool open = false, plunger_out = false;
  bool blind = false;  // its sensor sees nothing
  double zero_amps = 0;
  double splice_ohms = 0, turns = 1, leak_ohms = 1e9;
};

struct FakeSite {
  Config config;
  std::vector<FakeZone> zones;
  double volts = 27, source_ohms = 1.4;
  double supply_factor = 1;
  int broken_common_box = -1;  // stretch that ends at this box
  int bad_common_box = -1;
  double bad_common_ohms = 0;
  int crossed_a = -1, crossed_b = -1;  // positions
  bool command = true, supply_channel = false, burst = false, common_channel = false;
  double noise = 0.004;
  double kelvin_per_watt = 0;  // coils warm, within five minutes or so
  double on_seconds = 0;
  std::mt19937 random{7};
  UtcTime now = *parse_rfc3339("2026-03-02T05:00:00Z");

  // `count` zones on a chain of boxes, `per_box` at each.
  explicit FakeSite(int count, int per_box = 2) {
    config.site.id = "larch-court";
    config.commons.push_back({"main", {2.08, 14, false}});
    const int boxes = (count + per_box - 1) / per_box;
    for (int b = 0; b < boxes; ++b)
      config.boxes.push_back({std::string(1, static_cast<char>('A' + b)),
                              b ? std::string(1, static_cast<char>('A' + b - 1)) : "controller", 25, b - 1});
    for (int i = 0; i < count; ++i) {
      ZoneConfig zone;
      zone.number = i + 1;
      zone.box = i / per_box;
      zone.wire = {0.823, 18, false};
      zone.hold_amps = 0.24;
      zone.inrush_amps = 0.42;
      config.zones.push_back(zone);
      FakeZone fake;
      fake.number = i + 1;
      fake.box = i / per_box;
      fake.seated_ohms *= 1 + 0.04 * std::sin(i * 2.7);
      zones.push_back(fake);
    }
  }

  double wire(int box) const { return (box + 1) * 25 / 58.0 / 0.823; }
  double common(int box) const {
    if (broken_common_box >= 0 && box >= broken_common_box) return 1e9;
    return (box + 1) * 25 / 58.0 / 2.08 +
           (bad_common_box >= 0 && box >= bad_common_box ? bad_common_ohms : 0);
  }

  std::complex<double> admittance(const FakeZone& z, bool seated) const {
    if (z.open) return 0;
    const double x = z.turns * z.turns * (seated && !z.plunger_out ? z.seated_ohms : z.open_ohms);
    const double copper = wire(z.box) + common(z.box) + z.splice_ohms, cold = z.turns * z.coil_ohms;
    const double watts = std::norm(volts / std::complex<double>(copper + cold, x)) * cold;
    const double kelvin = kelvin_per_watt * watts * (1 - std::exp(-on_seconds / 300));
    return 1.0 / std::complex<double>(copper + cold * (1 + 0.00393 * kelvin), x) + 1.0 / z.leak_ohms;
  }

  std::complex<double> amps(int i, bool seated) const {
    std::complex<double> y = admittance(zones[static_cast<std::size_t>(i)], seated);
    if (i == crossed_a) y += admittance(zones[static_cast<std::size_t>(crossed_b)], seated);
    if (i == crossed_b) y += admittance(zones[static_cast<std::size_t>(crossed_a)], seated);
    return volts * supply_factor * y / (1.0 + source_ohms * y);
  }

  double measured_amps(int i, bool seated, double mains) {
    std::normal_distribution<double> n;
    const double flows = zones[static_cast<std::size_t>(i)].blind ? 0 : std::abs(amps(i, seated));
    const double exact = flows * mains * (1 + noise * n(random));
    const double zero = zones[static_cast<std::size_t>(i)].zero_amps;
    return std::max(0.0, std::round(1000 * (exact + zero + 0.0007 * n(random))) / 1000);
  }

  // One programme: every zone for `seconds`, one reading a second.
  void water(RunTracker& runs, int seconds = 90, const std::vector<int>& skipped = {}) {
    std::normal_distribution<double> n;
    const double mains = 1 + 0.008 * n(random);
    for (int i = 0; i < static_cast<int>(zones.size()); ++i) {
      if (std::find(skipped.begin(), skipped.end(), i) != skipped.end()) continue;
      run_zone(runs, i, seconds, mains);
      idle(runs, 3);
    }
    now += std::chrono::hours{24};
    now = std::chrono::floor<std::chrono::days>(now) + std::chrono::hours{5};
  }

  void run_zone(RunTracker& runs, int i, int seconds, double mains) {
    const auto zone = static_cast<std::uint8_t>(zones[static_cast<std::size_t>(i)].number);
    const Channel current{ChannelKind::zone_current, zone};
    if (command) runs.reading({{ChannelKind::zone_command, zone}, now, 1, false});
    if (burst)
      for (int ms = 10; ms < 300; ms += 10)
        runs.reading({current, now + Millis{ms}, measured_amps(i, ms > 60, mains), false});
    for (int s = 1; s <= seconds; ++s) {
      const UtcTime t = now + Millis{1000 * s - 100};
      on_seconds = s;
      runs.advance(t);
      if (supply_channel && s % 10 == 2)
        runs.reading({{ChannelKind::supply_voltage, 0},
                      t,
                      (volts * supply_factor - source_ohms * std::abs(amps(i, true))) * mains,
                      false});
      if (common_channel)
        runs.reading({{ChannelKind::common_current, 0},
                      t,
                      std::abs(volts * supply_factor *
                               (amps(i, true) / std::max(0.01, volts * supply_factor) -
                                1.0 / zones[static_cast<std::size_t>(i)].leak_ohms)) *
                          mains,
                      false});
      runs.reading({current, t, measured_amps(i, true, mains), false});
    }
    now += std::chrono::seconds{seconds};
    on_seconds = 0;
    if (command) runs.reading({{ChannelKind::zone_command, zone}, now, 0, false});
  }

  void idle(RunTracker& runs, int seconds) {
    std::normal_distribution<double> n;
    for (int s = 0; s < seconds; ++s) {
      now += std::chrono::seconds{1};
      runs.advance(now);
      for (const auto& zone : zones)
        runs.reading({{ChannelKind::zone_current, static_cast<std::uint8_t>(zone.number)},
                      now,
                      std::max(0.0, std::round(n(random) * 0.7) / 1000),
                      false});
    }
  }
};

// The stages from run to finding as the pipeline wires them, with every finding told kept.
struct FindingLog : RunListener {
  std::vector<Finding> told;
  Diagnosis diagnosis;
  RunTracker runs;
  explicit FindingLog(const Config& config)
      : diagnosis(config, [this](const Finding& f) { told.push_back(f); }), runs(config, *this) {}
  void on_look(const Run& run, Look look) override { diagnosis.look(run, look, runs.context().now); }
  void on_idle(const IdleEvent& event) override { diagnosis.idle(event); }
};

}  // namespace coilward
