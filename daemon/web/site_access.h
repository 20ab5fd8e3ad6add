// All that the HTTP interface and the command line ask of a site, so that one set of handlers (api.h) serves
// a running daemon and a daemon's files alone. Implemented by the daemon over its live state, and by
// OfflineSite (daemon/cli) over the files, where the snapshot in state.db has the shape of site_snapshot.h.
//
// Thread: the one that owns the site's state; nothing here waits for a disk or a network longer than one
// small read. What may take long answers through a callback, on the same thread, exactly once, at the
// earliest after the call has returned or within it.
#pragma once

#include <functional>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "daemon/alerts/pauses.h"
#include "daemon/base/pipeline_json.h"
#include "daemon/base/result.h"
#include "daemon/config/config.h"
#include "daemon/history/history_reader.h"
#include "daemon/history/state_rows.h"
#include "daemon/pipeline.h"
#include "daemon/requests/test_run.h"
#include "daemon/site_pipeline.h"
#include "daemon/web/commission_access.h"
#include "daemon/web/notes_access.h"
#include "daemon/web/told_access.h"

namespace coilward {

// One stage of the path (or the disk, the broker, one notifier), and what is wrong with it.
struct HealthStage {
  std::string name;  // "broker", "intake", "history", "notifier garden-mail"
  bool ok = true;
  std::string why;         // one sentence; may say something useful when ok too
  UtcTime since = kNever;  // of the trouble, when known
};

// One sample for /metrics. `name` has the prefix coilward_ and, for a counter, no _total: the writer adds it.
// Samples of one name stand together and share help and kind. Labels are few and never hold personal data.
struct Metric {
  enum class Kind { counter, gauge };
  std::string name;
  std::string help;
  Kind kind = Kind::counter;
  std::vector<std::pair<std::string, std::string>> labels;
  double value = 0;
};

// What was repaired: a zone's number, or the id of a common.
using RepairTarget = std::variant<int, std::string>;

// The answer of something that takes time. Json converts to nearly anything, so a value must be wrapped by
// name.
using JsonCallback = std::function<void(Result<Json>)>;
inline Result<Json> json_result(Json json) {
  return Result<Json>(boost::system::in_place_value, std::move(json));
}

class SiteAccess {
 public:
  virtual ~SiteAccess() = default;

  // Does what takes thought elsewhere, then `then` on this thread; at once where nothing else would wait.
  virtual void aside(std::function<void()> work, std::function<void()> then) {
    work();
    then();
  }

  // ---- reading
  virtual const Config& config() const = 0;
  // The site's present: the clock for a daemon, the moment of the last commit for files.
  virtual UtcTime now() const = 0;
  // More about the process for GET /api/v1/site, beside what the configuration says: an object, e.g.
  // {"version": "0.1.0", "started": "...", "mode": "daemon"}.
  virtual Json about() const = 0;
  virtual std::vector<ZoneState> zones() const = 0;
  // Open ones, newest first; with closed_too all that are kept (at most 1000).
  virtual Result<std::vector<Finding>> findings(bool closed_too) const = 0;
  // Open or closed. not_found.
  virtual Result<Finding> finding(const std::string& id) const = 0;
  // Who acknowledged it; empty: nobody.
  virtual std::string acknowledged_by(const std::string& finding) const = 0;
  // The end of a snooze; kNever: there is none.
  virtual UtcTime acknowledged_until(const std::string& finding) const = 0;
  virtual std::vector<AlertPause> pauses() const = 0;

  // A reader of its own each time: a long answer keeps it while it is sent in pieces. not_found: nothing kept
  // yet.
  virtual Result<HistoryReader> open_history() const = 0;
  // Taken in, but not in the file yet. May overlap with it.
  virtual std::vector<Reading> pending_readings(Channel channel) const = 0;
  virtual std::vector<Run> pending_runs() const = 0;

  // In the order of the path. The site is fit when all are ok.
  virtual std::vector<HealthStage> health() const = 0;
  virtual std::vector<Metric> metrics() const = 0;

  // What was entered for a finding, oldest first; marks of repairs among it (site_location.h).
  virtual Result<std::vector<TestReadingRow>> test_readings(const std::string& finding) const = 0;

  // Photos and notes of a finding, oldest first.
  virtual Result<std::vector<FieldNote>> notes(const std::string& /*finding*/) const {
    return std::vector<FieldNote>();
  }
  // Who keeps them; nullptr where no daemon runs.
  virtual NotesDesk* notes_desk() { return nullptr; }

  // The walk through a new site; nullptr where no daemon runs.
  virtual CommissionDesk* commission_desk() { return nullptr; }
  virtual int commission_step() const { return 0; }  // of it, so that pages know when it has gone on

  // In the order of the configuration; none where no daemon runs.
  virtual std::vector<NotifierView> notifiers() const { return {}; }
  // The phones that webpush tells; nullptr where no daemon runs.
  virtual PhoneDesk* phone_desk() { return nullptr; }

  // Every form a finding was said in, oldest first; those of the last moment may be missing.
  virtual Result<std::vector<FindingChange>> finding_changes(const std::string& /*finding*/) const {
    return std::vector<FindingChange>();
  }

  // Zones that somebody asked the controller to switch on for a test: the latest, newest first.
  virtual bool test_runs_allowed() const { return false; }
  virtual std::vector<TestRun> test_runs() const { return {}; }

  // ---- acting. `who` is a name for the record, may be empty.
  // until: of a snooze; kNever: until it is over. not_found: no such open finding. bad_input: as
  // AlertBook::acknowledge.
  virtual Result<bool> acknowledge(const std::string& finding, const std::string& who,
                                   UtcTime until = kNever) = 0;
  // Holds alerts back until then. bad_input: as AlertBook::pause.
  virtual Result<bool> pause(UtcTime until, PauseScope scope, const std::string& who,
                             const std::string& reason) = 0;
  // not_found: not paused.
  virtual Result<bool> resume(PauseScope scope, const std::string& who) = 0;
  // new_coil: another coil was put in, so that the old one's draw says nothing of it. not_found: no such zone
  // or common.
  virtual Result<bool> repaired(const RepairTarget& target, bool new_coil, const std::string& who) = 0;

  // Keeps a test reading (its JSON is that of the locate stage) beside an existing finding, as taken now.
  virtual Result<bool> keep_test_reading(const std::string& finding, const std::string& json) = 0;

  // Asks the controller to switch a zone on for so many seconds, or off again. bad_input: the length.
  // conflict: not allowed here, another test is under way, or the broker is away (a request that waits would
  // switch something on when nobody expects it). not_found: no test of this zone is under way.
  virtual Result<bool> ask_test_run(int /*zone*/, int /*seconds*/, const std::string& /*who*/) {
    return Error{Cause::conflict, "switching on for a test needs the running daemon"};
  }
  virtual Result<bool> end_test_run(int /*zone*/, const std::string& /*who*/) {
    return Error{Cause::conflict, "switching on for a test needs the running daemon"};
  }

  // Tries one notifier now. The answer: {"notifier": "garden-mail", "outcome": "done" | "retry" | "refused",
  // "words": "what the other side said", "seconds": 0.8}. not_found: no such notifier; the text names those
  // there are.
  virtual void test_alert(const std::string& notifier, JsonCallback answer) = 0;
  // A checked copy into the new directory `target` (absolute). The answer: {"directory": "...", "taken":
  // "...", "files": [{"name", "bytes", "sha256"}]}. Errors: as back_up (daemon/history/backup.h).
  virtual void backup(const std::string& target, JsonCallback answer) = 0;
};

}  // namespace coilward
