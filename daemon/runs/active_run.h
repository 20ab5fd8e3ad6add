// One run while it lasts: its readings, thinned where they are many, and what they say so far.
#pragma once

#include <functional>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/pipeline.h"

namespace coilward {

// Thread: one at a time.
class ActiveRun {
 public:
  ActiveRun(int zone, UtcTime start, bool commanded);

  // off_below: amps under which the output counts as carrying nothing.
  void current(UtcTime time, double amps, double off_below);
  void supply_volts(double volts) { supply_.add(volts); }
  void zone_volts(double volts) { zone_volts_.add(volts); }
  void common_amps(UtcTime time, double amps);
  // Another zone was on from..to within this run; `to` is kNever while it still is.
  void other_on(int zone, UtcTime from);
  void other_off(int zone, UtcTime to);
  void command_arrived(UtcTime on) {
    start_ = on;
    commanded_ = true;
  }

  int zone() const { return zone_; }
  UtcTime start() const { return start_; }
  UtcTime latest() const { return latest_; }  // time of the latest current reading; start when none
  bool commanded() const { return commanded_; }
  std::uint32_t readings() const { return readings_; }
  std::uint32_t settled_readings() const { return settled_; }  // after the switch-on transient
  bool carried_current() const { return carried_; }
  UtcTime low_since() const { return low_since_; }  // kNever: carries current, or never has
  std::uint32_t low_readings() const { return low_readings_; }
  bool carrying() const { return carried_ && low_since_ == kNever; }

  // What is known of it if it ends (or is looked at) at `end`. on_until: until when another zone that is
  // still on is known to be so.
  Run summary(UtcTime end, RunEnd ended, const std::function<UtcTime(int)>& on_until) const;

  Json save() const;
  static ActiveRun restore(const Json& saved);

 private:
  struct Mean {
    double sum = 0;
    int count = 0;
    void add(double value) {
      sum += value;
      ++count;
    }
    double value() const { return count > 0 ? sum / count : kNotMeasured; }
  };
  struct Other {
    int zone;
    UtcTime from;
    UtcTime to;
  };
  struct Window {
    double from_ms;
    double to_ms;
    std::vector<int> shared_with;
    std::vector<std::pair<double, double>> out{};
    bool unsure = false;
    bool has(std::int32_t ms) const;
  };

  Window hold_window(UtcTime end, const std::function<UtcTime(int)>& on_until) const;
  std::vector<RunPoint> points_in(const Window& window) const;
  std::vector<RunPoint> from_burst() const;
  void summarise_level(Run& run, const Window& window) const;
  void summarise_burst(Run& run) const;
  void begin_earlier(UtcTime start);
  void keep_early(RunPoint point);

  int zone_;
  UtcTime start_;
  UtcTime latest_;
  bool commanded_;
  std::uint32_t readings_ = 0, settled_ = 0, low_readings_ = 0, dips_ = 0;
  bool carried_ = false;
  UtcTime low_since_ = kNever;
  double lowest_ = kNotMeasured, highest_ = kNotMeasured;
  std::vector<RunPoint> burst_;    // the first kBurstMs
  std::vector<RunPoint> early_;    // from then to kEarlyMs, thinned
  std::vector<RunPoint> late_;     // the latest few after that
  std::int32_t early_gap_ms_ = 0;  // readings closer than this to the one before are left out of early_
  Mean supply_, zone_volts_;
  std::vector<RunPoint> common_;
  std::vector<Other> others_;
};

}  // namespace coilward
