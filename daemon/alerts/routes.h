// Who is told what, when, by which notifier and in which words: alerts in, messages for the outbox out.
//
// Rules, for each person of the configuration:
// - Wanted: severity, faults and zones as the person says. A trouble of the installation, or of a sensor,
// goes to
//   a homeowner only where nobody else would be told of it, and never as one of a valve.
// - Quiet hours, by the site's clock: what is urgent and news breaks through (opened and worse). Everything
// else
//   waits for their end and comes in one message, the latest of each cause; what got through meanwhile is
//   left out. Reminders and ends wake nobody (own choice).
// - after_h: told only of what nobody has acknowledged for so long, and from then on like the others. What
// was
//   acknowledged or ended before is never told.
// - The way: the first of the person's notifiers that takes this severity; the others stand by (delivery).
// A notifier that no person names is told everything at once, as a technician, in English.
// Ids follow from the alerts and the clock's quiet hours, so that a process that was killed and reads its
// input again makes the same ids.
//
// No clock, thread or file: time is an argument and never goes back. Thread: one at a time.
#pragma once

#include <functional>
#include <map>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/alerts/wording.h"
#include "daemon/base/pipeline_json.h"
#include "daemon/base/result.h"
#include "daemon/config/config.h"
#include "daemon/pipeline.h"

namespace coilward {

// Messages held for one person by quiet hours; beyond, the oldest goes (own choice).
inline constexpr std::size_t kMostHeld = 64;

// One message on its way.
struct RoutedMessage {
  std::string alert;     // Alert::id, or the digest's
  std::string notifier;  // the user's name of it
  std::string json;      // what the plugin is given: the alert in this person's words
  std::string subject;   // for logs
};

// The people of the configuration, and one for each notifier that none of them names.
std::vector<PersonConfig> everyone(const Config& config);
// The notifiers that stand by for one: those after it in its person's list.
std::vector<std::string> stand_ins(const Config& config, const std::string& notifier);
// An alert as a plugin is given it, in these words.
Json message_json(const Alert& alert, const Spoken& said, const PersonConfig& person, UtcTime due);

class Routes {
 public:
  // Says whether a finding is open and nobody has acknowledged it.
  using Unanswered = std::function<bool(const std::string& finding)>;

  // `config` outlives it.
  explicit Routes(const Config& config) : config_(&config) {}

  void alert(const Alert& alert, UtcTime now);
  // Everything due until now.
  std::vector<RoutedMessage> advance(UtcTime now, const Unanswered& unanswered);
  // When advance() next has something to say; kNever when nothing waits.
  UtcTime next_due() const;

  void use(const Config& config) { config_ = &config; }
  Json save() const;
  // bad_input: saved by something else; nothing is then known.
  Result<bool> restore(const Json& saved);

 private:
  struct Waiting {
    Alert alert;
    UtcTime from = kNever;  // held, or unanswered, since
  };
  struct Desk {                       // of one person
    std::vector<Waiting> held;        // by quiet hours
    std::vector<Waiting> unanswered;  // for after_h
    std::set<std::string> told;       // open findings, where after_h is given
  };

  bool wanted(const PersonConfig& person, const Alert& alert) const;
  std::vector<std::string> others(const PersonConfig& person, const Alert& alert) const;
  Listener listener(const PersonConfig& person, const Alert& alert) const;
  bool knows_already(Desk& desk, const Alert& alert, UtcTime now);
  void hand_out(const PersonConfig& person, Desk& desk, const Alert& alert, double unanswered_h, UtcTime now);
  void look_at_unanswered(const PersonConfig& person, Desk& desk, const Unanswered& unanswered, UtcTime now);
  void look_at_held(const PersonConfig& person, Desk& desk, UtcTime now);
  UtcTime held_until(const PersonConfig& person, UtcTime from) const;
  void send(const PersonConfig& person, const Alert& alert, const Spoken& said, UtcTime due);

  const Config* config_;
  std::map<std::string, Desk> desks_;
  std::vector<RoutedMessage> ready_;
};

}  // namespace coilward
