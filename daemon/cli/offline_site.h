// A site from its files alone: configuration, state.db, history.db. Reading needs no lock and works on a
// read-only medium; acting takes the lock of the state directory for its moment. Thread: one.
#pragma once

#include <memory>
#include <optional>
#include <string>

#include "daemon/alerts/alert_book.h"
#include "daemon/cli/site_stages.h"
#include "daemon/history/state_store.h"
#include "daemon/web/site_access.h"

namespace coilward {

class OfflineSite final : public SiteAccess {
 public:
  // bad_config: the configuration. not_found: there is no state.db. world, bad_config: it cannot be read.
  static Result<std::unique_ptr<OfflineSite>> open(const std::string& config_file,
                                                   const std::string& state_directory);

  const Config& config() const override { return stages_->config(); }
  UtcTime now() const override { return now_; }
  Json about() const override;
  std::vector<ZoneState> zones() const override { return stages_->pipeline().zones(); }
  Result<std::vector<Finding>> findings(bool closed_too) const override;
  Result<Finding> finding(const std::string& id) const override;
  std::string acknowledged_by(const std::string& finding) const override;
  UtcTime acknowledged_until(const std::string& finding) const override;
  Result<std::vector<TestReadingRow>> test_readings(const std::string& finding) const override {
    return store_.test_readings(finding);
  }
  Result<std::vector<FieldNote>> notes(const std::string& finding) const override;
  std::vector<AlertPause> pauses() const override { return book_->pauses(now_); }
  Result<HistoryReader> open_history() const override;
  std::vector<Reading> pending_readings(Channel) const override { return {}; }
  std::vector<Run> pending_runs() const override { return {}; }
  std::vector<HealthStage> health() const override;
  std::vector<Metric> metrics() const override { return {}; }

  Result<bool> acknowledge(const std::string& finding, const std::string& who, UtcTime until) override;
  Result<bool> pause(UtcTime until, PauseScope scope, const std::string& who,
                     const std::string& reason) override;
  Result<bool> resume(PauseScope scope, const std::string& who) override;
  Result<bool> repaired(const RepairTarget& target, bool new_coil, const std::string& who) override;
  Result<bool> keep_test_reading(const std::string& finding, const std::string& json) override;
  void test_alert(const std::string& notifier, JsonCallback answer) override;
  void backup(const std::string& target, JsonCallback answer) override;

 private:
  OfflineSite(std::string directory, StateStore store, std::unique_ptr<SiteStages> stages);
  Result<bool> restore();
  // Under the lock: reads the snapshot again, lets `change` happen, writes what came of it.
  using Change = std::function<Result<bool>(StateBatch& batch)>;
  Result<bool> commit(const Change& change);

  const std::string directory_;
  StateStore store_;
  std::unique_ptr<SiteStages> stages_;
  std::unique_ptr<AlertBook> book_;
  Json notices_, routes_;  // the daemon's, handed on
  UtcTime now_ = kNever;
  std::uint64_t mark_ = 0;
};

}  // namespace coilward
