// `coilward replay`: a recording through the same stages as live data, on the recording's clock. Thread: one.
#pragma once

#include <string>

namespace coilward {

struct ReplayOptions {
  std::string recording;  // "-": standard input
  std::string config;
  std::string state;  // empty: leaves nothing
  bool json = false;
};

// Exit status: 0 done; 1 nothing could be read, or the state could not be kept; 78 wrong configuration.
int replay(const ReplayOptions& options);

}  // namespace coilward
