// What one current sensor says while its output is off: its zero, its noise, how often it speaks, and whether
// it is stuck on the same digits.
#pragma once

#include "daemon/base/pipeline_json.h"
#include "daemon/pipeline.h"

namespace coilward {

// One long gap, of a sensor or of the whole site, is forgotten in some weeks, however often it speaks in
// between.
inline constexpr double kGapMemorySeconds = 15 * 86400;
// Who is silent for longer between two words speaks while its zone is on, and says nothing when that is not
// switched on; own judgement.
inline constexpr double kSpeaksSeldomSeconds = 6 * 3600;

// Thread: one at a time.
class IdleWatch {
 public:
  // every_s: the interval the configuration promises; NaN: learned.
  explicit IdleWatch(double every_s = kNotMeasured) : every_s_(every_s) {}

  // Every reading of the channel passes here first: interval and repeated digits.
  // link_was_away: nothing was heard of the whole site since the last one.
  void heard(UtcTime time, double amps, bool link_was_away = false);
  // A reading that surely belongs to "off".
  void idle(double amps);

  // Amps above which the output carries current: the zero, six times its noise, and at least 25 mA, which is
  // a tenth of what the smallest coils hold at (common practice: 0.2-0.3 A) and above what a triac output
  // leaks.
  double on_above() const;
  double zero_amps() const { return idle_count_ > 0 ? zero_ : kNotMeasured; }
  // The zero when first learned, to compare with; NaN until known.
  double first_zero_amps() const { return idle_count_ >= kFirstZeroOf ? first_zero_ : kNotMeasured; }
  double zero_noise_amps() const { return noise_; }
  UtcTime last() const { return last_; }
  double latest_amps() const { return latest_; }
  // Silent for three of its usual intervals (facts A2), and for a minute at least.
  // from: silence before that instant does not count.
  bool is_stale(UtcTime now, UtcTime from) const;
  double usual_gap_s() const;
  // While anything is heard of the site.
  double usual_own_gap_s() const;
  // How unlikely so long a row of equal digits is for this sensor: natural logarithm, 0 when not unusual.
  double frozen_nats() const;
  UtcTime same_since() const { return same_since_; }

  Json save() const;
  void restore(const Json& saved);

 private:
  static constexpr int kFirstZeroOf = 10;
  double every_s_;
  UtcTime first_ = kNever, last_ = kNever;
  double latest_ = kNotMeasured;
  double longest_own_gap_s_ = 0;  // as the next, without those of the whole site
  double longest_gap_s_ = 0;  // decays slowly, so that one gap does not blind it for ever
  int gaps_ = 0;
  double zero_ = 0, noise_ = 0, first_zero_ = 0;
  int idle_count_ = 0;
  // Equal neighbours among all neighbours.
  struct Repeats {
    double repeats = 0, steps = 0;
  };
  Repeats carrying_, resting_;
  int same_ = 0;
  UtcTime same_since_ = kNever;
};

}  // namespace coilward
