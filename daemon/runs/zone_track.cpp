#include "daemon/runs/zone_track.h"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <utility>

namespace coilward {
namespace {

// A splice that opens for less than this flickers; without a command channel the run is still the same one.
constexpr double kFlickerSeconds = 5;
// The current of an output dies within a cycle of switch-off; sensors average, and clocks of two sensors
// differ.
constexpr double kOffSeconds = 3;
// A controller that says its state again and again says nothing new of a run that has just been cut out;
// after this long without current, "on" begins another run.
constexpr double kLostOffSeconds = 1800;
// A command older than the latest by less than this was overtaken by it; by more, and a clock was set back.
constexpr double kOvertakenSeconds = 600;
// Messages on their way for less than this may overtake each other.
constexpr double kCrossingSeconds = 3;
// Valves are seldom meant to stay open for longer (common practice).
constexpr double kEndlessSeconds = 2 * 3600;
// And where none has ever ended; drip lines run for hours (common practice).
constexpr double kNeverEndedSeconds = 8 * 3600;
// Longer than a usual run, where none was seen (common practice: minutes to three quarters of an hour).
constexpr double kLongRunSeconds = 2700;
// A controller's gateway that starts again may say "off" of all until it has asked; no valve is harmed
// meanwhile.
constexpr double kWrongCommandSeconds = 600;
// Looks after the early one: the level is better known at 20 s, and the first minute is over at 75 s.
constexpr double kSettledSeconds[] = {20, 75};
// Intervals of readings within runs: shorter ones are a burst's; so many make the interval known.
constexpr double kLeastGapSeconds = 0.7;
constexpr int kGapsKnown = 5;
// Until then: three of the longest that are usual, 30 s (common practice).
constexpr double kUnknownGapSeconds = 95;
// Two readings in a row: one may be a glitch.
constexpr int kSure = 2;
// Frozen rather than by chance, as a natural logarithm. Steps of 1 mA and slow noise repeat digits for
// minutes while a coil is on, so only a very long row counts there; digits that outlast a switch-off need
// few.
constexpr double kFrozenOnNats = 80, kFrozenOffNats = 4;
// And a nothing that did not waver through a switch-on as it always did; own judgement.
constexpr double kFrozenZeroNats = 12;
// Runs without a word from the sensor: the first may have begun before it was connected.
constexpr int kNeverHeard = 2;
// Of the rated volts: an output that is on has more than the first even where the supply is low, one that is
// off less than the second (what leaks through a switch, common practice). In between nothing is said.
constexpr double kPowered = 0.55, kUnpowered = 0.25;
// Volts that were not heard for so long say nothing of now.
constexpr double kVoltsFreshSeconds = 300;

}  // namespace

Channel ZoneTrack::channel() const {
  if (zone_ == kMasterZone) return {ChannelKind::master_current, 0};
  return {ChannelKind::zone_current, static_cast<std::uint8_t>(zone_)};
}

void ZoneTrack::tell(IdleKind kind, UtcTime since, UtcTime now, double value, double expected) {
  owner_->idle_event({kind, channel(), since, now, value, expected});
}

void ZoneTrack::start(UtcTime time, bool commanded) {
  run_.emplace(zone_, time, commanded);
  looks_ = 0;
  told_cut_out_ = told_silent_ = false;
  above_ = below_ = 0;
  owner_->run_started(zone_);
}

void ZoneTrack::finish(UtcTime end, RunEnd ended) {
  if (!run_->commanded()) {
    // One that outlasted every other teaches nothing of how long they are.
    if (!told_uncommanded_ && run_->carried_current())
      longest_run_s_ = std::max(seconds_between(run_->start(), end), longest_run_s_ * 0.98);
    if (told_uncommanded_) tell(IdleKind::uncommanded_over, above_since_, end, watch_.latest_amps(), 0);
    told_uncommanded_ = false;
  }
  if (!has_current() && ++unheard_runs_ == kNeverHeard) {
    told_stale_ = true;
    tell(IdleKind::never_heard, run_->start(), end, kNotMeasured, kNotMeasured);
  }
  owner_->run_finished(zone_, end, ended);
  run_.reset();
  by_volts_ = false;
  powered_since_ = kNever;
  off_since_ = end;
  above_ = below_ = 0;
  rested_ = false;
}

void ZoneTrack::look(Look look, UtcTime end, RunEnd ended) { owner_->run_looked_at(zone_, look, end, ended); }

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

void ZoneTrack::current(UtcTime time, double amps) {
  if (watch_.last() != kNever && time < watch_.last() - Millis{2000}) return;  // late news changes no run
  const double gap = watch_.last() == kNever ? kNotMeasured : seconds_between(watch_.last(), time);
  watch_.heard(time, amps);
  if (told_stale_) {
    told_stale_ = false;
    tell(IdleKind::heard_again, time, time, amps, watch_.usual_gap_s());
  }
  if (!run_ && doubtful_on_ != kNever && amps > watch_.on_above()) {
    commanded_ = true;
    start(doubtful_on_, true);
    doubtful_on_ = kNever;
  }
  if (!run_) {
    off_reading(time, amps);
    return;
  }
  // From the end of a burst to the next single reading is no interval.
  if (measured(gap) && run_->readings() > 1 && gap > kLeastGapSeconds) {
    run_gap_s_ = measured(run_gap_s_) ? std::max(gap, 0.98 * run_gap_s_) : gap;
    ++run_gaps_;
  }
  if (doubtful_off_ != kNever && !settle_doubt(time, amps)) return;
  run_->current(time, amps, watch_.on_above());
  watch_frozen(time, amps);  // first: what such a sensor says is no look
  look_by_readings(time);
  if (run_) watch_endless(time);
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

// Where no command says so, a run that goes on for hours beyond any other was not meant.
void ZoneTrack::watch_endless(UtcTime time) {
  if (run_->commanded() || told_uncommanded_ || !run_->carrying()) return;
  const double limit =
      longest_run_s_ > 0 ? std::max(kEndlessSeconds, 3 * longest_run_s_) : kNeverEndedSeconds;
  if (seconds_between(run_->start(), time) < limit) return;
  told_uncommanded_ = true;
  above_since_ = run_->start();
  tell(IdleKind::uncommanded, above_since_, time, watch_.latest_amps(), std::max(0.0, watch_.zero_amps()));
}

void ZoneTrack::look_by_readings(UtcTime time) {
  const double on_s = seconds_between(run_->start(), time);
  const bool low = run_->low_since() != kNever;
  if (low && !run_->commanded()) {
    if (seconds_between(run_->low_since(), time) >= kFlickerSeconds)
      finish(run_->low_since(), RunEnd::switched_off);
    return;
  }
  if (low && !told_cut_out_ && run_->low_readings() >= kSure &&
      seconds_between(run_->low_since(), time) >= 1.5) {
    told_cut_out_ = true;
    look(Look::cut_out, time, RunEnd::cut_out);
  }
  if (!low) told_cut_out_ = false;
  if (looks_ == 0 && run_->settled_readings() >= kSure) {
    looks_ = 1;
    look(Look::early, time);
  } else if (looks_ >= 1 && looks_ <= 2 && on_s >= kSettledSeconds[looks_ - 1]) {
    ++looks_;
    look(Look::settled, time);
  }
}

void ZoneTrack::off_reading(UtcTime time, double amps) {
  const bool above = amps > watch_.on_above();
  if (!has_command_ && above) {
    start(time, false);
    run_->current(time, amps, watch_.on_above());
    return;
  }
  if (off_since_ != kNever && seconds_between(off_since_, time) < kOffSeconds) return;
  watch_uncommanded(time, amps);
  if (!above) watch_zero(time, amps);
  watch_frozen(time, amps);
}

double ZoneTrack::lost_command_s() const {
  return longest_run_s_ > 0 ? 60 + 1.2 * longest_run_s_ : kLongRunSeconds;
}

void ZoneTrack::watch_uncommanded(UtcTime time, double amps) {
  if (amps > watch_.on_above()) {
    if (above_++ == 0) above_since_ = time;
    below_ = 0;
    // Digits that have not changed since before the switch-off are the sensor's, not the output's. Current
    // that began while off may be a run whose command got lost: then it ends when a run would.
    const bool changed = off_since_ == kNever || watch_.same_since() > off_since_;
    const bool went_on =
        !rested_ && off_since_ != kNever && seconds_between(off_since_, above_since_) < silent_after_s();
    const bool lasting =
        seconds_between(above_since_, time) > (went_on ? kWrongCommandSeconds : lost_command_s());
    if (above_ >= kSure && changed && lasting && !told_uncommanded_) {
      told_uncommanded_ = true;
      tell(IdleKind::uncommanded, above_since_, time, amps, std::max(0.0, watch_.zero_amps()));
    }
    return;
  }
  above_ = 0;
  rested_ = true;
  if (told_uncommanded_ && ++below_ == kSure) {
    told_uncommanded_ = false;
    tell(IdleKind::uncommanded_over, above_since_, time, amps, 0);
  }
}

// 12 mA: half of the least that counts as current, so that a moving zero is told before it looks like a run.
void ZoneTrack::watch_zero(UtcTime time, double amps) {
  watch_.idle(amps);
  const double first = watch_.first_zero_amps();
  const bool moved =
      measured(first) && std::abs(watch_.zero_amps() - first) > std::max(0.012, 8 * watch_.zero_noise_amps());
  if (moved && !told_offset_) tell(IdleKind::offset, time, time, watch_.zero_amps(), first);
  told_offset_ = moved;
}

void ZoneTrack::watch_frozen(UtcTime time, double amps) {
  const bool outlasted = has_command_ && !run_ && off_since_ != kNever && watch_.same_since() <= off_since_;
  // An exact nothing is what a broken wire may leave of a sound sensor.
  const bool outslept = run_ && run_->commanded() && amps != 0 && watch_.same_since() <= run_->start();
  const bool frozen = amps > watch_.on_above()
                          ? watch_.frozen_nats() > (outlasted ? kFrozenOffNats : kFrozenOnNats)
                          : watch_.frozen_nats() > kFrozenZeroNats && (outslept || told_frozen_);
  if (frozen && !told_frozen_) tell(IdleKind::frozen, watch_.same_since(), time, amps, kNotMeasured);
  if (!frozen && told_frozen_) tell(IdleKind::heard_again, time, time, amps, watch_.usual_gap_s());
  told_frozen_ = frozen;
}

double ZoneTrack::silent_after_s() const {
  if (run_gaps_ < kGapsKnown) return std::max(kUnknownGapSeconds, measured(run_gap_s_) ? 3 * run_gap_s_ : 0);
  return std::max(8.0, 3 * run_gap_s_);
}

void ZoneTrack::advance(UtcTime now, UtcTime link_back) {
  end_unpowered(now);
  if (run_) {
    const double unheard = seconds_between(run_->latest(), now);
    if (!run_->commanded() && run_->low_since() != kNever &&
        seconds_between(run_->low_since(), now) >= kFlickerSeconds) {
      finish(run_->low_since(), RunEnd::switched_off);
    } else if (!run_->commanded() && unheard > 3 * silent_after_s()) {
      finish(run_->latest(), RunEnd::silent);
    } else if (run_->commanded() && !by_volts_ && has_current() && !told_silent_ &&
               unheard > silent_after_s() && doubtful_off_ == kNever) {
      // A sensor that looks often only while current flows is as slow as ever beside volts alone.
      told_silent_ = true;
      look(Look::silent, now, RunEnd::silent);
    }
  }
  if (!told_stale_ && watch_.is_stale(now, link_back)) {
    told_stale_ = true;
    tell(IdleKind::stale, watch_.last(), now, kNotMeasured, watch_.usual_gap_s());
  }
}

Json ZoneTrack::save() const {
  return {{"watch", watch_.save()},
          {"run", run_ ? run_->save() : Json(nullptr)},
          {"has_command", has_command_},
          {"commanded", commanded_},
          {"off_since", to_ms(off_since_)},
          {"volts", {to_ms(heard_volts_), to_ms(powered_since_), by_volts_}},
          {"doubtful", {to_ms(doubtful_on_), to_ms(doubtful_off_)}},
          {"heard_command", to_ms(heard_command_)},
          {"looks", looks_},
          {"told_cut_out", told_cut_out_},
          {"told_silent", told_silent_},
          {"run_gap_s", number_or_null(run_gap_s_)},
          {"run_gaps", run_gaps_},
          {"above", above_},
          {"below", below_},
          {"above_since", to_ms(above_since_)},
          {"rested", rested_},
          {"longest_run_s", longest_run_s_},
          {"unheard_runs", unheard_runs_},
          {"told", {told_uncommanded_, told_stale_, told_frozen_, told_offset_}}};
}

void ZoneTrack::restore(const Json& j) {
  watch_.restore(j.at("watch"));
  if (!j.at("run").is_null()) run_ = ActiveRun::restore(j.at("run"));
  has_command_ = j.at("has_command");
  commanded_ = j.at("commanded");
  off_since_ = from_ms(j.at("off_since"));
  heard_volts_ = from_ms(j.at("volts").at(0));
  powered_since_ = from_ms(j.at("volts").at(1));
  by_volts_ = j.at("volts").at(2);
  doubtful_on_ = from_ms(j.at("doubtful").at(0));
  doubtful_off_ = from_ms(j.at("doubtful").at(1));
  heard_command_ = from_ms(j.at("heard_command"));
  looks_ = j.at("looks");
  told_cut_out_ = j.at("told_cut_out");
  told_silent_ = j.at("told_silent");
  if (!j.at("run_gap_s").is_null()) run_gap_s_ = j.at("run_gap_s");
  run_gaps_ = j.at("run_gaps");
  above_ = j.at("above");
  below_ = j.at("below");
  above_since_ = from_ms(j.at("above_since"));
  rested_ = j.at("rested");
  longest_run_s_ = j.at("longest_run_s");
  unheard_runs_ = j.at("unheard_runs");
  told_uncommanded_ = j.at("told").at(0);
  told_stale_ = j.at("told").at(1);
  told_frozen_ = j.at("told").at(2);
  told_offset_ = j.at("told").at(3);
}

}  // namespace coilward
