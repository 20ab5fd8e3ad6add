// What a zone's track makes of commands and of the volts at its terminals.
#include <utility>

#include "daemon/runs/zone_track.h"

namespace coilward {
namespace {

// A controller that says its state again and again says nothing new of a run that has just been cut out;
// after this long without current, "on" begins another run.
constexpr double kLostOffSeconds = 1800;
// A command older than the latest by less than this was overtaken by it; by more, and a clock was set back.
constexpr double kOvertakenSeconds = 600;
// Messages on their way for less than this may overtake each other.
constexpr double kCrossingSeconds = 3;
// Of the rated volts: an output that is on has more than the first even where the supply is low, one that is
// off less than the second (what leaks through a switch, common practice). In between nothing is said.
constexpr double kPowered = 0.55, kUnpowered = 0.25;
// Volts that were not heard for so long say nothing of now.
constexpr double kVoltsFreshSeconds = 300;

}  // namespace

void ZoneTrack::command(UtcTime time, bool on) {
  has_command_ = true;
  if (by_volts_) finish(time, RunEnd::switched_off);
  const double behind = heard_command_ == kNever ? 0 : seconds_between(time, heard_command_);
  if (behind > 0 && behind < kOvertakenSeconds) return;
  heard_command_ = time;
  // The command that ended the run got lost: its current ended long ago, and now it is switched on again.
  if (on && commanded_ && run_ && run_->carried_current() && run_->low_since() != kNever &&
      seconds_between(run_->low_since(), time) > kLostOffSeconds) {
    finish(run_->low_since(), RunEnd::switched_off);
    commanded_ = false;
  }
  if (on) doubtful_off_ = kNever;
  if (on == commanded_) return;
  // A controller that says its state again may say the old one just after the new: believed when current
  // flows, or when it is said once more.
  doubtful_on_ =
      on && off_since_ != kNever && seconds_between(off_since_, time) < kCrossingSeconds ? time : kNever;
  if (doubtful_on_ != kNever) return;
  if (!on && run_ && doubtful_off_ == kNever && run_->commanded() &&
      seconds_between(run_->start(), time) < kCrossingSeconds) {
    doubtful_off_ = time;
    return;
  }
  doubtful_off_ = kNever;
  commanded_ = on;
  if (on) {
    // The current may be heard a moment before the command that caused it.
    if (run_ && !run_->commanded() && seconds_between(run_->start(), time) < kOffSeconds)
      run_->command_arrived(std::min(time, run_->start()));
    else
      start(time, true);
  } else if (run_) {
    if (run_->carried_current())
      longest_run_s_ = std::max(seconds_between(run_->start(), time), longest_run_s_ * 0.98);
    const bool cut = run_->carried_current() && run_->low_since() != kNever &&
                     seconds_between(run_->low_since(), time) > kOffSeconds;
    finish(cut ? run_->low_since() : time, cut                                     ? RunEnd::cut_out
                                           : told_silent_ && run_->readings() == 0 ? RunEnd::silent
                                                                                   : RunEnd::switched_off);
    off_since_ = time;
  }
}

void ZoneTrack::volts(UtcTime time, double over_rated) {
  if (heard_volts_ != kNever && time < heard_volts_) return;
  heard_volts_ = time;
  if (has_command_) return;
  if (over_rated < kUnpowered) {
    powered_since_ = kNever;
    if (by_volts_) finish(time, RunEnd::switched_off);
  }
  // Sensors average, and hear of a switch-off a moment late.
  const bool just_off = off_since_ != kNever && seconds_between(off_since_, time) < kOffSeconds;
  if (over_rated < kPowered || run_ || just_off) return;
  if (powered_since_ == kNever) powered_since_ = time;
  const bool draws_nothing = watch_.last() != kNever && watch_.latest_amps() <= watch_.on_above() &&
                             seconds_between(powered_since_, watch_.last()) > kOffSeconds;
  if (!draws_nothing || time == powered_since_) return;
  by_volts_ = true;
  start(powered_since_, true);
  run_->current(watch_.last(), watch_.latest_amps(), watch_.on_above());
}

// Whose volts are not heard any more is not on for ever.
void ZoneTrack::end_unpowered(UtcTime now) {
  if (by_volts_ && seconds_between(heard_volts_, now) > kVoltsFreshSeconds)
    finish(heard_volts_, RunEnd::silent);
}

// An "off" within the moment of the "on" was an old one if current flows all the same: true.
bool ZoneTrack::settle_doubt(UtcTime time, double amps) {
  const bool flows = amps > watch_.on_above();
  if (flows) doubtful_off_ = kNever;
  if (!flows && seconds_between(doubtful_off_, time) > kOffSeconds) {
    commanded_ = false;
    finish(std::exchange(doubtful_off_, kNever), RunEnd::switched_off);
  }
  return flows;
}

}  // namespace coilward
