#include "daemon/runs/zone_track.h"

#include <algorithm>

namespace coilward {
namespace {

// A splice that opens for less than this flickers; without a command channel the run is still the same one.
constexpr double kFlickerSeconds = 5;
// Valves are seldom meant to stay open for longer (common practice).
constexpr double kEndlessSeconds = 2 * 3600;
// A sensor that never speaks less often does so whether its zone is on or off.
constexpr double kSpeaksRegularlySeconds = 15 * 60;
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
// Beyond so many readings, equal digits may be chance up to here; own judgement.
constexpr int kFewReadings = 4;
constexpr double kDoubtNats = 6;
// And a nothing that did not waver through a switch-on as it always did; own judgement.
constexpr double kFrozenZeroNats = 12;
// Runs without a word from the sensor: the first may have begun before it was connected.
constexpr int kNeverHeard = 2;

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

void ZoneTrack::current(UtcTime time, double amps, UtcTime link_back) {
  if (watch_.last() != kNever && time < watch_.last() - Millis{2000}) return;  // late news changes no run
  const double gap = watch_.last() == kNever ? kNotMeasured : seconds_between(watch_.last(), time);
  const bool link_was_away = measured(gap) && link_back > watch_.last();
  watch_.heard(time, amps, link_was_away);
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
  // Nothing after a silence: it ended when the sensor fell silent, as far as is known.
  if (!run_->commanded() && !by_volts_ && gap > 3 * silent_after_s() && amps <= watch_.on_above()) {
    finish(run_->latest(), RunEnd::silent);
    off_reading(time, amps);
    return;
  }
  // From the end of a burst to the next single reading is no interval.
  if (measured(gap) && !link_was_away && run_->readings() > 1 && gap > kLeastGapSeconds) {
    run_gap_s_ = measured(run_gap_s_) ? std::max(gap, 0.98 * run_gap_s_) : gap;
    ++run_gaps_;
  }
  if (doubtful_off_ != kNever && !settle_doubt(time, amps)) return;
  run_->current(time, amps, watch_.on_above());
  watch_frozen(time, amps);  // first: what such a sensor says is no look
  look_by_readings(time);
  if (run_) watch_endless(time);
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
    // The very same digits since it began: whether the sensor is stuck on them will soon be known.
    const bool doubtful =
        watch_.same_since() <= above_since_ && (above_ <= kFewReadings || watch_.frozen_nats() > kDoubtNats);
    if (above_ >= kSure && changed && lasting && !doubtful && !told_uncommanded_) {
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

// A sensor that speaks at intervals with nothing on may fall back to them while the current goes on.
double ZoneTrack::ended_after_s() const {
  const double usual = watch_.usual_own_gap_s();
  const double slow = usual < kSpeaksRegularlySeconds ? 1.5 * usual + 10 : 0;
  return std::max(3 * silent_after_s(), slow);
}

void ZoneTrack::advance(UtcTime now, UtcTime link_back) {
  end_unpowered(now);
  if (run_) {
    const double unheard = seconds_between(run_->latest(), now);
    if (!run_->commanded() && run_->low_since() != kNever &&
        seconds_between(run_->low_since(), now) >= kFlickerSeconds) {
      finish(run_->low_since(), RunEnd::switched_off);
    } else if (!run_->commanded() && unheard > ended_after_s()) {
      finish(run_->latest(), RunEnd::silent);
    } else if (run_->commanded() && !by_volts_ && has_current() && !told_silent_ &&
               seconds_between(std::max(run_->latest(), link_back), now) > silent_after_s() &&
               doubtful_off_ == kNever) {
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

}  // namespace coilward
