#include "daemon/vitals.h"

#include <systemd/sd-daemon.h>
#include <time.h>

#include <fmt/format.h>

namespace coilward {
namespace {

// A commit to a tired SD card takes seconds; a keeper that has neither committed nor complained for this long
// hangs.
constexpr std::chrono::seconds kKeeperHangs{90};

void tell(const std::string& what) { sd_notify(0, what.c_str()); }

}  // namespace

void Vitals::ready() { tell("READY=1"); }
void Vitals::status(const std::string& text) { tell("STATUS=" + text); }
void Vitals::stopping() { tell("STOPPING=1"); }

void Vitals::reloading() {
  timespec now{};
  clock_gettime(CLOCK_MONOTONIC, &now);
  tell(fmt::format("RELOADING=1\nMONOTONIC_USEC={}", now.tv_sec * 1'000'000LL + now.tv_nsec / 1000));
}

void Vitals::posted() {
  if (!waiting_since_) waiting_since_ = std::chrono::steady_clock::now();
}

double Vitals::waiting_s() const {
  if (!waiting_since_) return 0;
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - *waiting_since_).count();
}

void Vitals::beat(const KeeperHealth& keeper) {
  if (keeper.commits != commits_ || !keeper.trouble.empty()) {
    commits_ = keeper.commits;
    waiting_since_.reset();
  }
  const bool hangs = waiting_since_ && std::chrono::steady_clock::now() - *waiting_since_ > kKeeperHangs;
  if (!hangs) tell("WATCHDOG=1");
}

}  // namespace coilward
