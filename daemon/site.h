// All state of one site on the core thread: the pipeline, the alert book, what waits to be committed and
// reported. No thread, socket or file of its own: the daemon gives it links to those, tests give it fakes and
// a clock that is moved by hand.
#pragma once

#include <functional>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "daemon/alerts/alert_book.h"
#include "daemon/alerts/notices.h"
#include "daemon/alerts/routes.h"
#include "daemon/base/clock.h"
#include "daemon/history/keeper.h"
#include "daemon/intake/intake.h"
#include "daemon/requests/test_runs.h"
#include "daemon/site_pipeline.h"
#include "daemon/web/site_access.h"
#include "daemon/web/site_snapshot.h"

namespace coilward {

// What the site has done for it. All are called on the core thread and must not wait.
struct SiteLinks {
  std::function<void(CommitUnit)> commit;
  std::function<void(const std::string& topic, const std::string& payload, bool retained)> publish;
  std::function<std::vector<HealthStage>()> health;
  std::function<std::vector<Metric>()> metrics;
  std::function<std::vector<Reading>(Channel)> committing;  // posted to the keeper, not on the disk yet
  std::function<void(const std::string& notifier, JsonCallback answer)> test_alert;
  std::function<void(const std::string& target, JsonCallback answer)> backup;
  std::function<std::vector<NotifierView>()> notifiers = {};
  PhoneDesk* phone_desk = nullptr;
  std::function<Result<std::vector<FieldNote>>(const std::string& finding)> notes = {};
  NotesDesk* notes_desk = nullptr;
  CommissionDesk* commission_desk = nullptr;
  std::function<void(std::function<void()> work, std::function<void()> then)> aside = {};
};

// Thread: the core's. config, intake and clock outlive it.
class Site final : public SiteAccess, private PipelineListener {
 public:
  Site(const Config& config, Intake& intake, const Clock& clock, std::string version, SiteLinks links);
  ~Site() override;

  // Goes on where a snapshot ended. bad_input: the first part of it that cannot be read; that is then as new.
  Result<bool> restore(const Snapshot& snapshot);

  // One message from the spool. keep: its readings are not in the history yet.
  void message(const Message& message, bool keep);
  // One that crashed the process more than once: counted as lost, and told.
  void leave_out(const Message& message);
  // Once a second and after a batch of messages: lets time pass, sends what is due, commits when it is time
  // to. behind: messages wait in the spool, so that nothing is missing yet that has not come; time then
  // passes with the messages alone.
  void tick(bool behind = false);
  // Everything that waits, now: at stop, and before a backup.
  void commit();
  // All troubles of the installation (not of a valve) that last now: others are over.
  void troubles(const std::vector<SiteTrouble>& lasting) { notices_.last(lasting, now()); }
  // One that has no end: told once.
  using Fields = std::vector<std::pair<std::string, std::string>>;
  void happened(const std::string& key, Severity severity, Fields fields);
  // Everything retained, again: after a connect, as another broker may know nothing of it.
  void report_all();

  std::uint64_t last_sequence() const { return sequence_; }
  // When a reading was last taken in, and when the pipeline last had everything there was (Clock::steady; the
  // clock's own start: never).
  std::chrono::steady_clock::time_point last_reading() const { return last_reading_; }
  std::chrono::steady_clock::time_point caught_up() const { return caught_up_; }
  Silence silence() const { return pipeline_.silence(); }
  bool has_pending() const { return !unit_.readings.empty() || decided_; }

  // ---- SiteAccess
  void aside(std::function<void()> work, std::function<void()> then) override {
    if (links_.aside) return links_.aside(std::move(work), std::move(then));
    SiteAccess::aside(std::move(work), std::move(then));
  }
  const Config& config() const override { return config_; }
  UtcTime now() const override { return clock_.utc(); }
  Json about() const override;
  std::vector<ZoneState> zones() const override { return pipeline_.zones(); }
  Result<std::vector<Finding>> findings(bool closed_too) const override;
  Result<Finding> finding(const std::string& id) const override;
  std::string acknowledged_by(const std::string& finding) const override {
    return book_.acknowledged_by(finding);
  }
  Result<std::vector<TestReadingRow>> test_readings(const std::string& finding) const override;
  UtcTime acknowledged_until(const std::string& finding) const override {
    return book_.acknowledged_until(finding);
  }
  std::vector<AlertPause> pauses() const override { return book_.pauses(now()); }
  Result<std::vector<FindingChange>> finding_changes(const std::string& finding) const override;
  bool test_runs_allowed() const override { return config_.test_run.allow; }
  std::vector<TestRun> test_runs() const override { return test_runs_.all(); }
  Result<bool> ask_test_run(int zone, int seconds, const std::string& who) override;
  Result<bool> end_test_run(int zone, const std::string& who) override;
  Result<HistoryReader> open_history() const override;
  std::vector<Reading> pending_readings(Channel channel) const override;
  std::vector<Run> pending_runs() const override { return unit_.runs; }
  std::vector<HealthStage> health() const override { return links_.health(); }
  std::vector<Metric> metrics() const override { return links_.metrics(); }
  Result<bool> acknowledge(const std::string& finding, const std::string& who, UtcTime until) override;
  Result<bool> pause(UtcTime until, PauseScope scope, const std::string& who,
                     const std::string& reason) override;
  Result<bool> resume(PauseScope scope, const std::string& who) override;
  Result<bool> repaired(const RepairTarget& target, bool new_coil, const std::string& who) override;
  Result<bool> keep_test_reading(const std::string& finding, const std::string& json) override;
  std::vector<NotifierView> notifiers() const override {
    return links_.notifiers ? links_.notifiers() : std::vector<NotifierView>();
  }
  PhoneDesk* phone_desk() override { return links_.phone_desk; }
  Result<std::vector<FieldNote>> notes(const std::string& finding) const override {
    return links_.notes ? links_.notes(finding) : std::vector<FieldNote>();
  }
  NotesDesk* notes_desk() override { return links_.notes_desk; }
  CommissionDesk* commission_desk() override { return links_.commission_desk; }
  int commission_step() const override {
    const WalkView* walk = links_.commission_desk ? links_.commission_desk->view() : nullptr;
    return walk ? walk->step : 0;
  }
  void test_alert(const std::string& notifier, JsonCallback answer) override {
    links_.test_alert(notifier, std::move(answer));
  }
  void backup(const std::string& target, JsonCallback answer) override {
    links_.backup(target, std::move(answer));
  }

 private:
  // ---- PipelineListener
  void on_reading(const Reading& reading) override;
  void on_run(const Run& run) override;
  void on_finding(const Finding& finding) override;
  void on_forecast(const Finding& finding) override;
  void on_zone(int zone) override { changed_zones_.insert(zone); }

  Result<bool> restore_parts(const SiteSnapshot& parts);
  std::string topic(const std::string& rest) const;
  void keep(TestReadingRow row);
  void hear(const std::vector<Alert>& alerts);
  void queue(const std::vector<RoutedMessage>& messages);
  void report_finding(const Finding& finding);
  void report_zones();
  Result<bool> may_ask() const;
  void restore_test_runs();
  void watch_test_runs();
  void keep(const TestRun& run);
  void send_request(const char* what, const Json& request);

  const Config& config_;
  const Clock& clock_;
  const std::string version_;
  const UtcTime started_;
  SiteLinks links_;
  Intake& intake_;
  Pipeline pipeline_;
  AlertBook book_;
  Notices notices_;
  Routes routes_;
  TestRuns test_runs_;
  CommitUnit unit_;                      // waits
  std::vector<TestReadingRow> entered_;  // since the start, the latest of them: may not be on the disk yet
  bool keep_ = true;
  bool decided_ = false;  // a finding, run or alert waits: commit at once
  std::chrono::steady_clock::time_point last_commit_;
  std::chrono::steady_clock::time_point last_reading_{}, caught_up_{};
  std::uint64_t sequence_ = 0;  // of the latest message taken in
  std::set<int> changed_zones_;
};

}  // namespace coilward
