// Asks the handlers over a site's files. Thread: one.
#pragma once

#include <memory>

#include "daemon/cli/api_caller.h"

namespace coilward {

// As OfflineSite::open.
Result<std::unique_ptr<ApiCaller>> open_offline(const std::string& config_file,
                                                const std::string& state_directory);

}  // namespace coilward
