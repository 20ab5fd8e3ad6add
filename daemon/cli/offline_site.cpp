#include "daemon/cli/offline_site.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "daemon/base/clock.h"
#include "daemon/history/backup.h"
#include "daemon/history/history_store.h"
#include "daemon/history/notes_store.h"
#include "daemon/history/state_directory.h"
#include "daemon/web/site_location.h"
#include "daemon/web/site_snapshot.h"

namespace coilward {
namespace {

// Collects what a repair changes.
class FindingsHeard final : public PipelineListener {
 public:
  void on_finding(const Finding& finding) override { heard.push_back(finding); }
  std::vector<Finding> heard;
};

Json backup_to_json(const BackupReport& report) {
  Json files = Json::array();
  for (const BackupFile& file : report.files)
    files.push_back({{"name", file.name}, {"bytes", file.bytes}, {"sha256", file.sha256}});
  return {{"directory", report.directory}, {"taken", time_or_null(report.taken)}, {"files", files}};
}

HealthStage stage(std::string name, const std::optional<Error>& error) {
  return {std::move(name), !error, error ? error->what : "", kNever};
}

}  // namespace

Result<std::unique_ptr<OfflineSite>> OfflineSite::open(const std::string& config_file,
                                                       const std::string& state_directory) {
  auto stages = SiteStages::build(config_file);
  if (!stages) return stages.error();
  auto store =
      StateStore::open(state_path(state_directory), (*stages)->config().site.id, {OpenMode::read_only});
  if (!store) return store.error();
  std::unique_ptr<OfflineSite> site(new OfflineSite(state_directory, std::move(*store), std::move(*stages)));
  const auto restored = site->restore();
  if (!restored) return restored.error();
  return site;
}

OfflineSite::OfflineSite(std::string directory, StateStore store, std::unique_ptr<SiteStages> stages)
    : directory_(std::move(directory)), store_(std::move(store)), stages_(std::move(stages)) {}

// The present of a site's files is when they were last written: "7d" means seven days before that, not before
// today.
Result<bool> OfflineSite::restore() {
  book_ = std::make_unique<AlertBook>(config());
  const auto snapshot = store_.snapshot();
  if (!snapshot) return snapshot.error();
  now_ = snapshot->taken == kNever ? SystemClock().utc() : snapshot->taken;
  mark_ = snapshot->mark;
  const auto parts = read_site_snapshot(snapshot->json);
  if (!parts) return parts.error();
  notices_ = parts->notices;
  routes_ = parts->routes;
  if (const auto restored = stages_->restore(*parts); !restored) return restored.error();
  if (parts->alerts.is_null()) return true;
  return book_->restore(parts->alerts);
}

Json OfflineSite::about() const { return {{"mode", "files"}, {"state", directory_}}; }

Result<std::vector<Finding>> OfflineSite::findings(bool closed_too) const {
  return store_.findings(closed_too);
}

Result<Finding> OfflineSite::finding(const std::string& id) const {
  auto found = store_.finding(id);
  if (!found) return found.error();
  if (*found) return std::move(**found);
  return Error{Cause::not_found, fmt::format("there is no finding '{}'", id)};
}

std::string OfflineSite::acknowledged_by(const std::string& finding) const {
  return book_->acknowledged_by(finding);
}

Result<HistoryReader> OfflineSite::open_history() const {
  return HistoryReader::open(history_path(directory_), ChannelNames(config()));
}

Result<std::vector<FieldNote>> OfflineSite::notes(const std::string& finding) const {
  return read_notes(notes_path(directory_), finding);
}

std::vector<HealthStage> OfflineSite::health() const {
  std::optional<Error> history_error;
  if (const auto reader = open_history(); !reader)
    history_error = reader.error();
  else if (const auto channels = reader->channels(); !channels)
    history_error = channels.error();
  std::optional<Error> state_error;
  if (const auto found = store_.findings(true); !found) state_error = found.error();
  return {stage("configuration", {}), stage("state", state_error), stage("history", history_error)};
}

Result<bool> OfflineSite::commit(const Change& change) {
  const auto lock = StateDirectory::lock(directory_);
  if (!lock) return lock.error();
  auto store = StateStore::open(lock->state(), config().site.id);
  if (!store) return store.error();
  store_ = std::move(*store);
  if (const auto fresh = restore(); !fresh) return fresh.error();
  StateBatch batch;
  FindingsHeard heard;
  stages_->listen(&heard);
  const auto changed = change(batch);
  stages_->listen(nullptr);
  if (!changed) return changed.error();
  for (const Finding& finding : heard.heard) book_->finding(finding, now_);
  batch.snapshot = site_snapshot_text(
      {stages_->pipeline().save(), book_->save(), stages_->intake().save(), notices_, routes_});
  batch.mark = mark_;
  batch.now = now_;
  batch.findings = heard.heard;
  return store_.commit(batch);
}

UtcTime OfflineSite::acknowledged_until(const std::string& finding) const {
  return book_->acknowledged_until(finding);
}

Result<bool> OfflineSite::acknowledge(const std::string& finding, const std::string& who, UtcTime until) {
  const Acknowledgement row{finding, who, now_};
  return commit([&](StateBatch& batch) {
    // The book may be older than the findings: a replay that was cut, an older program.
    for (const Finding& open : stages_->pipeline().open_findings()) book_->finding(open, now_);
    batch.acknowledgements = std::span(&row, 1);
    return book_->acknowledge(finding, who, now_, until);
  });
}

Result<bool> OfflineSite::pause(UtcTime until, PauseScope scope, const std::string& who,
                                const std::string& reason) {
  const Pause row{now_, until, who, reason};
  return commit([&](StateBatch& batch) {
    batch.pauses = std::span(&row, 1);
    auto paused = book_->pause(until, scope, who, now_);
    if (paused) stages_->pipeline().work_on_site(scope.zone, now_, until);
    return paused;
  });
}

Result<bool> OfflineSite::resume(PauseScope scope, const std::string& who) {
  return commit([&](StateBatch&) {
    auto resumed = book_->resume(scope, who, now_);
    if (resumed) stages_->pipeline().work_on_site(scope.zone, now_, now_);
    return resumed;
  });
}

Result<bool> OfflineSite::repaired(const RepairTarget& target, bool new_coil, const std::string& who) {
  std::vector<TestReadingRow> marks;
  return commit([&](StateBatch& batch) {
    Pipeline& pipeline = stages_->pipeline();
    marks = repair_marks(pipeline.open_findings(), config(), target, who, now_);
    batch.test_readings = marks;
    if (const int* zone = std::get_if<int>(&target)) return pipeline.repaired_zone(*zone, new_coil, now_);
    return pipeline.repaired_common(std::get<std::string>(target), new_coil, now_);
  });
}

// A person measured it now, however old the files are.
Result<bool> OfflineSite::keep_test_reading(const std::string& finding, const std::string& json) {
  const TestReadingRow row{finding, std::max(now_, SystemClock().utc()), json};
  return commit([&](StateBatch& batch) {
    batch.test_readings = std::span(&row, 1);
    return Result<bool>(true);
  });
}

void OfflineSite::test_alert(const std::string&, JsonCallback answer) {
  answer(Error{Cause::conflict,
               "test-alert needs the running daemon, which owns the notifiers: leave out --state"});
}

void OfflineSite::backup(const std::string& target, JsonCallback answer) {
  const auto report = back_up(directory_, target, SystemClock().utc());
  if (report)
    answer(json_result(backup_to_json(*report)));
  else
    answer(report.error());
}

}  // namespace coilward
