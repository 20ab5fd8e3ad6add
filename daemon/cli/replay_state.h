// What a replay leaves behind with --state: history.db and state.db as the daemon would, its alerts excepted,
// which are not sent and not queued. Goes on from what is there. Thread: one.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "daemon/alerts/alert_book.h"
#include "daemon/cli/site_stages.h"
#include "daemon/history/history_store.h"
#include "daemon/history/state_directory.h"
#include "daemon/history/state_store.h"

namespace coilward {

class ReplayState {
 public:
  // Takes the directory's lock, and restores the stages from what is there. conflict: a daemon has it.
  static Result<std::unique_ptr<ReplayState>> open(const std::string& directory, SiteStages& stages);

  void reading(const Reading& reading) { readings_.push_back(reading); }
  void run(const Run& run) {
    runs_.push_back(run);
    book_.run(run);
  }
  void finding(const Finding& finding, UtcTime now);

  // Now and then: commits when enough has come together.
  Result<bool> settle(UtcTime now);
  // At the end: everything, with the snapshot.
  Result<bool> finish(UtcTime now);

  bool went_on() const { return went_on_; }  // there was a state to go on from
  UtcTime taken() const { return taken_; }   // up to where

 private:
  ReplayState(StateDirectory directory, HistoryStore history, StateStore state, SiteStages& stages);
  Result<bool> restore();
  Result<bool> commit_history(UtcTime now);
  Result<bool> commit_state(UtcTime now, bool with_snapshot);

  StateDirectory directory_;
  HistoryStore history_;
  StateStore state_;
  SiteStages& stages_;
  AlertBook book_;
  Json notices_, routes_;  // the daemon's, handed on
  std::vector<Reading> readings_;
  std::vector<Run> runs_;
  std::vector<Finding> findings_;
  bool went_on_ = false;
  UtcTime taken_ = kNever;
  std::uint64_t mark_ = 0;
};

}  // namespace coilward
