// What the alert book remembers of one cause: its latest finding, what people were told of it and when, and
// whether it comes and goes. Plain values and the rules on them; the book owns the rest.
#pragma once

#include <array>
#include <deque>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/config/config.h"
#include "daemon/pipeline.h"

namespace coilward {

// A cause that opens again this soon after it was over "comes and goes" (own choice: zones run about once a
// day). It is announced once and is then quiet for this long, doubling each time up to kLongestQuiet.
inline constexpr Millis kComesAndGoes = std::chrono::hours{24};
inline constexpr Millis kLongestQuiet = std::chrono::hours{7 * 24};
// A cause that has been over this long is forgotten.
inline constexpr Millis kForgotten = std::chrono::hours{14 * 24};

// What is to be said next about one cause, and when at the earliest.
struct AlertStep {
  AlertKind kind = AlertKind::opened;
  UtcTime due = kNever;
  bool urgent_news = false;  // higher severity or more zones: no hourly limit holds it back
};

struct AlertCase {
  Finding finding;        // as last heard
  bool active = false;    // open, or its end is still to be told
  bool told = false;      // people know of it
  UtcTime seen = kNever;  // when the book heard that it opened
  UtcTime gone = kNever;  // when the book heard that it ended; kNever while open
  bool acknowledged = false;
  std::string acknowledged_by;
  UtcTime acknowledged_at = kNever;
  UtcTime acknowledged_until = kNever;  // kNever: until it is over

  UtcTime repeats_from = kNever;  // the message that the repeat hours count from
  int repeats = 0;                // of those hours that have passed
  UtcTime news_at = kNever;       // when something told-worthy changed; kNever: nothing did
  bool news_is_worse = false;     // it got worse, rather than only another name

  Severity told_severity = Severity::watch;
  std::vector<int> told_zones;
  std::vector<Fault> told_faults;
  bool told_not_repaired = false;    // that the latest repair did not hold
  std::deque<UtcTime> said;          // latest messages, at most AlertConfig::max_per_hour of them
  std::array<int, 4> ordinals = {};  // messages of each kind: opened, worse, repeat, closed

  int times = 0;                 // told openings, each within kComesAndGoes of the last end
  UtcTime last_gone = kNever;    // end of the last told opening
  bool flapping = false;         // it was announced that it comes and goes
  UtcTime quiet_since = kNever;  // while flapping
  UtcTime quiet_until = kNever;  // while flapping
  int quiet_level = 0;           // doublings of the next quiet time

  bool open() const { return active && gone == kNever; }
  // Acknowledged for a time: its state is said once when the time is up.
  bool snoozed() const { return acknowledged && acknowledged_until != kNever; }

  void hear_open(const Finding& latest, UtcTime now);
  void hear_closed(const Finding& latest, UtcTime now);
  // Somebody knows of it: no repeats until it gets worse, and no first message if none was sent yet.
  // until: of a snooze; kNever: until it is over.
  void acknowledge(std::string_view who, UtcTime now, UtcTime until = kNever);
  // Marks that `kind` was said at `at`; `now` (not earlier) is how far the book has come, so that of several
  // missed repeats only the last is said. Counts it in `ordinals`.
  void mark_told(AlertKind kind, UtcTime at, UtcTime now, const AlertConfig& rules);

  // Before pauses and grouping are considered.
  std::optional<AlertStep> next_step(const AlertConfig& rules) const;
  // The time of the repeat after `after`; kNever when none repeats.
  UtcTime repeat_time(int index, const AlertConfig& rules) const;

 private:
  std::optional<AlertStep> flapping_step() const;
  void start_opening(UtcTime now);
  void note_news(UtcTime now);
  void note_told_values();
  void mark_opened(UtcTime at);
  void mark_repeat(UtcTime at, UtcTime now, const AlertConfig& rules);
  void mark_closed();
  void start_quiet(UtcTime at);
};

// What two findings share when the second is the first one come back: the place and the kind of trouble.
std::string cause_key(const Finding& finding);

// The words "withdrawn ..." open the close reason of a finding that should not have been said.
bool withdrawn(const Finding& finding);
// "one cause with ..." opens that of a finding that became part of another: the other one is told.
bool merged(const Finding& finding);

// Someone said that it was repaired, and a run has shown that it is not.
bool not_repaired(const Finding& finding);
bool repair_proved(const Finding& finding);  // and the runs have shown that it is

Json alert_case_to_json(const AlertCase& c);
AlertCase alert_case_from_json(const Json& json);  // throws nlohmann::json::exception on another shape

}  // namespace coilward
