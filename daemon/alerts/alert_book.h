// Decides what is told to people, and when: findings and the passing of time in, alerts out.
//
// Rules, in the order they are applied:
// - Hold: a finding is told `hold_s` after the book heard of it. One that ends before is never told; one that
// is
//   withdrawn before is never told. Its end is told `clear_hold_s` after it came, unless it came back. One
//   that becomes part of another finding ends without a word: the other one is told.
// - Grouping: openings that fall due within `group_s` of the first go into one message, and so do endings;
//   what was said together repeats together. One finding is one cause, however many zones it takes out.
// - Worse (higher severity, more zones, another fault than any told) is told at once. Higher severity and
// more
//   zones undo an acknowledgement and restart the repeats; another name alone does not.
// - Repeats come `repeat_h` after the first message, the last interval again and again, until acknowledged or
//   over. A finding acknowledged before it was told is not told. Acknowledged for a time (a snooze), it is
//   said again when the time is up, if it is still open.
// - At most `max_per_hour` messages in any hour for one cause, unless it gets worse.
// - A cause that comes back within a day of its end is announced as coming and going, then is quiet for a
// day,
//   two, four, at most a week; only worse breaks in. After the quiet time its state is said once.
// - A pause holds everything back. At its end: what is new and still open is told once (in one message), what
//   was known and ended meanwhile is told as one message, what opened and closed meanwhile is not told, and
//   repeats that fell due meanwhile are left out.
// - Silence is not an end: only a finding that says it is closed closes.
// Ids of alerts follow from the finding ids, the kind and a number, so that a process that was killed and
// reads its input again makes the same ids.
//
// No clock, thread or file: time is an argument and never goes back. Thread: one at a time.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/alerts/alert_case.h"
#include "daemon/alerts/latest_draws.h"
#include "daemon/alerts/pauses.h"
#include "daemon/base/pipeline_json.h"
#include "daemon/base/result.h"
#include "daemon/config/config.h"
#include "daemon/pipeline.h"

namespace coilward {

// Causes kept; beyond, the longest over are forgotten, then new findings are counted and not told.
inline constexpr std::size_t kMaxCauses = 1024;

class AlertBook {
 public:
  // `config` outlives the book: names of site, zones and boxes, the time zone, and the [alerts] rules.
  explicit AlertBook(const Config& config) : config_(&config) {}

  // Hears a finding as it opens, changes or closes. Alerts that fall due by it come from the next advance().
  void finding(const Finding& finding, UtcTime now);
  // A run that is over: what it drew is shown beside what is said of its zone.
  void run(const Run& run) { draws_.run(run); }
  // Everything due until now, in the order it fell due.
  std::vector<Alert> advance(UtcTime now);
  // When advance() next has something to say; kNever when nothing is waiting. In the past when it is overdue.
  UtcTime next_due() const;

  // Stops the repeats of one finding until it is over, or (a snooze) until an instant, at which its state is
  // said. not_found: it is not open. bad_input: `until` is past, or over 31 days away.
  Result<bool> acknowledge(std::string_view finding_id, std::string_view who, UtcTime now,
                           UtcTime until = kNever);
  // bad_input: ends before now, lasts over 31 days, or names a zone the site does not have.
  Result<bool> pause(UtcTime until, PauseScope scope, std::string_view who, UtcTime now);
  // not_found: not paused.
  Result<bool> resume(PauseScope scope, std::string_view who, UtcTime now);
  std::vector<AlertPause> pauses(UtcTime now) const { return pauses_.running(now); }
  // Who acknowledged an open finding; empty: nobody.
  std::string acknowledged_by(std::string_view finding_id) const;
  // The end of a snooze; kNever: there is none.
  UtcTime acknowledged_until(std::string_view finding_id) const;
  // It is open and nobody has acknowledged it.
  bool unanswered(std::string_view finding_id) const;
  std::uint64_t dropped() const { return dropped_; }  // findings not told because of kMaxCauses

  // The configuration was read again. It outlives the book.
  void use(const Config& config) { config_ = &config; }

  Json save() const;
  // bad_input: saved by something else; the book is then as new.
  Result<bool> restore(const Json& saved);

 private:
  using Cases = std::map<std::string, AlertCase, std::less<>>;
  struct Group {  // one message to be
    AlertKind kind = AlertKind::opened;
    UtcTime due = kNever;
    std::vector<std::string> keys;  // of cases_
  };

  AlertCase* open_case(std::string_view finding_id);
  AlertCase* case_for(const Finding& finding);
  bool make_room();
  void forget_old(UtcTime now);
  std::optional<AlertStep> step(const AlertCase& c) const;
  int repeat_after_pauses(const AlertCase& c) const;
  void leave_out_repeats(UtcTime now);
  std::optional<Group> next_group() const;
  void catch_up(UtcTime now);
  Alert tell(const Group& group, UtcTime now);

  const Config* config_;
  Cases cases_;
  Pauses pauses_;
  LatestDraws draws_;
  std::vector<Alert> ready_;
  std::uint64_t dropped_ = 0;
};

// The idempotency key and the mail's Message-ID: "20260504-061209-z4-open_circuit.opened.1", with
// "+<others>-<hash of their ids>" behind it when several findings share the message. The hash keeps a message
// for A and B apart from one for A alone.
std::string alert_id(const std::vector<Finding>& findings, AlertKind kind, int ordinal);

// A message that says it is a test, for `coilward test-alert`.
Alert test_alert(const Config& config, UtcTime now, Language language = Language::english);

}  // namespace coilward
