// Signs of life for the service manager (sd_notify(3)): ready, status, watchdog. The watchdog is fed only
// while the loops make progress, never from a bare timer (facts A19). Outside of systemd all of it does
// nothing.
#pragma once

#include <chrono>
#include <optional>
#include <string>

#include "daemon/history/keeper.h"

namespace coilward {

// Thread: the core's.
class Vitals {
 public:
  void ready();
  void status(const std::string& text);
  void reloading();
  void stopping();
  // A unit went to the keeper.
  void posted();
  // Seconds since a unit went to the keeper that it has neither committed nor complained of; 0: none.
  double waiting_s() const;
  // Once a second from the core's timer: feeds the watchdog unless the keeper sits on a unit without saying
  // why.
  void beat(const KeeperHealth& keeper);

 private:
  std::uint64_t commits_ = 0;
  std::optional<std::chrono::steady_clock::time_point> waiting_since_;
};

}  // namespace coilward
