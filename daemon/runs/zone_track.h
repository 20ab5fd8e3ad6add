// One output's way from readings to runs: the part of RunTracker that knows nothing of the other zones.
#pragma once

#include <optional>

#include "daemon/runs/active_run.h"
#include "daemon/runs/idle_watch.h"
#include "daemon/runs/run_tracker.h"

namespace coilward {

// What a ZoneTrack tells its tracker. `end` runs in event time, not in arrival time.
class ZoneTrackOwner {
 public:
  virtual ~ZoneTrackOwner() = default;
  virtual void run_started(int zone) = 0;
  virtual void run_looked_at(int zone, Look look, UtcTime end, RunEnd ended) = 0;
  virtual void run_finished(int zone, UtcTime end, RunEnd ended) = 0;
  virtual void idle_event(const IdleEvent& event) = 0;
};

// Thread: one at a time.
class ZoneTrack {
 public:
  ZoneTrack(int zone, double every_s, ZoneTrackOwner& owner) : zone_(zone), watch_(every_s), owner_(&owner) {}

  // link_back: when something was heard again after nothing was heard of the whole site.
  void current(UtcTime time, double amps, UtcTime link_back);
  void command(UtcTime time, bool on);
  // At its terminals, over what the supply is rated at. Without a command channel these tell when it is on,
  // whether it draws anything or not.
  void volts(UtcTime time, double over_rated);
  void advance(UtcTime now, UtcTime link_back);

  std::optional<ActiveRun>& run() { return run_; }
  const std::optional<ActiveRun>& run() const { return run_; }
  const IdleWatch& watch() const { return watch_; }
  int zone() const { return zone_; }
  bool has_command() const { return has_command_; }
  // Its switching is known, whatever it draws; volts heard longer ago than that say nothing (own judgement).
  bool tells_switching(UtcTime now) const {
    return has_command_ || (heard_volts_ != kNever && heard_volts_ > now - std::chrono::hours(2));
  }
  // Carries current that nobody asked for, or says so.
  bool unasked() const { return told_uncommanded_; }
  bool has_current() const { return watch_.last() != kNever; }
  bool is_on() const { return has_command_ ? commanded_ : run_.has_value(); }

  Json save() const;
  void restore(const Json& saved);

 private:
  // The current of an output dies within a cycle of switch-off; sensors average, and clocks of two sensors
  // differ.
  static constexpr double kOffSeconds = 3;

  Channel channel() const;
  void start(UtcTime time, bool commanded);
  void finish(UtcTime end, RunEnd ended);
  void look(Look look, UtcTime end, RunEnd ended = RunEnd::running);
  void look_by_readings(UtcTime time);
  void end_unpowered(UtcTime now);
  bool settle_doubt(UtcTime time, double amps);
  void watch_endless(UtcTime time);
  void off_reading(UtcTime time, double amps);
  double lost_command_s() const;
  void watch_uncommanded(UtcTime time, double amps);
  void watch_zero(UtcTime time, double amps);
  void watch_frozen(UtcTime time, double amps);
  void tell(IdleKind kind, UtcTime since, UtcTime now, double value, double expected);
  double silent_after_s() const;
  double ended_after_s() const;

  int zone_;
  IdleWatch watch_;
  ZoneTrackOwner* owner_;
  std::optional<ActiveRun> run_;
  bool has_command_ = false, commanded_ = false;
  UtcTime heard_command_ = kNever;  // time of the newest
  UtcTime doubtful_on_ = kNever;    // switched on in the moment of its switch-off
  UtcTime doubtful_off_ = kNever;   // switched off in the moment of its switch-on
  UtcTime off_since_ = kNever;      // command off, or run over
  UtcTime heard_volts_ = kNever, powered_since_ = kNever;
  bool by_volts_ = false;  // the run is known by its volts alone
  int looks_ = 0;          // early, at 20 s, at 75 s
  bool told_cut_out_ = false, told_silent_ = false;
  double run_gap_s_ = kNotMeasured;  // longest usual interval of readings within a run
  int run_gaps_ = 0;
  int above_ = 0, below_ = 0;  // readings in a row while off
  UtcTime above_since_ = kNever;
  bool rested_ = false;       // carried nothing at some time since it was switched off
  double longest_run_s_ = 0;  // carrying current; forgotten slowly
  int unheard_runs_ = 0;      // before its sensor's first word
  bool told_uncommanded_ = false, told_stale_ = false, told_frozen_ = false, told_offset_ = false;
};

}  // namespace coilward
