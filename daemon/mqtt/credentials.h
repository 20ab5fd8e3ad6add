// Secrets and keys that the configuration names by file.
#pragma once

#include <string>

#include "daemon/base/result.h"
#include "daemon/config/config.h"

namespace coilward {

// The file's content without the newline at its end. bad_config: missing, unreadable, empty, or readable by
// every user of the machine. Thread: any.
Result<std::string> read_secret(const std::string& path);

// That the TLS files which are named can be read, and that the key is not open to everyone. The libraries'
// own words for a missing file do not name it.
Result<bool> check_tls_files(const MqttConfig& config);

}  // namespace coilward
