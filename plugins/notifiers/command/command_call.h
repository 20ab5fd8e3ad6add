// Hands an alert to a program of the user's.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "plugins/common/reply.h"
#include "plugins/notifiers/command/child.h"

namespace coilward_plugins {

class Command {
 public:
  // Throws std::invalid_argument with a sentence when the settings cannot work.
  explicit Command(const nlohmann::json& settings);

  // done: exit status 0. retry: 75 (EX_TEMPFAIL of sysexits.h), ran out of time, could not be started for
  // want of memory or processes. refused: everything else.
  Reply deliver(std::string_view alert_json, double timeout_s);  // [one thread at a time]
  void interrupt() noexcept { interrupter_.interrupt(); }        // [any thread]

 private:
  std::vector<std::string> arguments_;
  Interrupter interrupter_;
};

}  // namespace coilward_plugins
