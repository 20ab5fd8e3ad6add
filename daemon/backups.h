// Copies of what is kept, made while the daemon runs: each on a thread of its own. Thread: the core's.
#pragma once

#include <boost/asio/io_context.hpp>
#include <string>
#include <thread>
#include <vector>

#include "daemon/base/clock.h"
#include "daemon/history/keeper.h"
#include "daemon/web/site_access.h"

namespace coilward {

class Backups {
 public:
  // All that is given outlives it.
  Backups(boost::asio::io_context& core, Keeper& keeper, std::string state_directory, const Clock& clock)
      : core_(core), keeper_(keeper), state_directory_(std::move(state_directory)), clock_(clock) {}
  ~Backups() { stop(); }

  // What was posted to the keeper before is committed first, so that the copy has it. `answer` as
  // SiteAccess::backup says.
  void make(const std::string& target, JsonCallback answer);
  // Cuts short those under way, which leave nothing behind, and waits for their threads.
  void stop() { threads_.clear(); }

 private:
  boost::asio::io_context& core_;
  Keeper& keeper_;
  const std::string state_directory_;
  const Clock& clock_;
  std::vector<std::jthread> threads_;
};

}  // namespace coilward
