// reading -> run: when a zone was energised, and what it drew while it was.
//
// A zone with a command channel runs from command on to command off, with or without current. A zone without
// one runs while its current stands above its idle level, or, drawing nothing, while its terminals have
// volts. A run is looked at several times (see Look), so that a dead zone is known two readings after
// switch-on and not when the run is over.
#pragma once

#include <array>
#include <memory>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/config/config.h"
#include "daemon/pipeline.h"

namespace coilward {

// Why a run is shown. Each look at one run carries all that is known of it then and replaces the one before.
enum class Look : std::uint8_t {
  early,    // two readings after the switch-on transient
  settled,  // 20 s on, and again at 75 s
  cut_out,  // the current stopped although the command did not
  silent,   // commanded, but its sensor says nothing
  finished,
};

// A channel's behaviour outside of runs.
enum class IdleKind : std::uint8_t {
  uncommanded,  // current although the command is off
  uncommanded_over,
  stale,  // nothing heard for three of its usual intervals
  heard_again,
  frozen,       // the same digits over and over, through a switch-on or switch-off too
  link_silent,  // nothing heard of any channel; `channel` says nothing
  link_back,
  offset,       // its reading with nothing on has moved away from zero
  never_heard,  // switched on again and again, and not one reading has ever come
  supply_lost,  // the supply's volts are gone, whether anything is on or not
  supply_back,
};

struct IdleEvent {
  IdleKind kind = IdleKind::stale;
  Channel channel;
  UtcTime since = kNever;
  UtcTime now = kNever;
  double value = kNotMeasured;     // amps seen
  double expected = kNotMeasured;  // amps usual, or seconds usual for stale
};

class RunListener {
 public:
  virtual ~RunListener() = default;
  virtual void on_look(const Run& run, Look look) = 0;
  virtual void on_start(int /*zone*/, UtcTime /*start*/) {}
  virtual void on_idle(const IdleEvent& event) = 0;
};

// Of all sensors together.
struct Silence {
  UtcTime heard = kNever;           // a reading of any channel, the latest; kNever: none yet
  double unusual_s = kNotMeasured;  // a silence longer than this is no usual one; NaN: not known
};

// Latest values that belong to the site, not to a zone.
struct SiteContext {
  UtcTime now = kNever;  // latest time seen
  double supply_volts = kNotMeasured;
  UtcTime supply_time = kNever;
  double supply_volts_idle = kNotMeasured;  // with no zone on
  double soil_celsius = kNotMeasured;
  double air_celsius = kNotMeasured;
};

// Thread: one at a time. `config` and `listener` outlive it.
class RunTracker {
 public:
  RunTracker(const Config& config, RunListener& listener);
  ~RunTracker();

  void reading(const Reading& reading);
  // Ends what time alone ends: silent runs, lasting silence.
  void advance(UtcTime now);

  const SiteContext& context() const;
  bool is_on(int zone) const;
  bool has_command(int zone) const;
  bool tells_switching(int zone) const;  // by its command or its volts
  bool has_current(int zone) const;      // a current reading has ever come
  double latest_amps(int zone) const;
  UtcTime latest_time(int zone) const;
  double idle_amps(int zone) const;  // NaN until known
  // Came back on the zone's common while nothing was seen to be on: UnseenReturns.
  double returned_unseen(int zone, UtcTime from, UtcTime to) const;
  bool any_on() const;
  Silence silence() const;
  UtcTime heard_again() const;  // end of the latest silence of the whole site; kNever: none yet

  Json save() const;
  void restore(const Json& saved);

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward
