// A question to the site, and what is needed to show the answer. Inside this folder only. Thread: one.
#pragma once

#include <map>
#include <nlohmann/json.hpp>
#include <string>

#include "daemon/cli/api_caller.h"

namespace coilward {

// The answer to a question and the site's time zone, to show it with (not asked for with --json).
struct Shown {
  Json answer;
  std::string timezone;
};

Result<Shown> ask(const SiteOptions& options, const std::string& path,
                  std::map<std::string, std::string> query = {});

}  // namespace coilward
