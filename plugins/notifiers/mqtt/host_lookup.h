// Finds out within a limit whether a host name has an address: the system's own look-up cannot be ended.
#pragma once

#include <atomic>
#include <chrono>
#include <string>

namespace coilward_plugins {

// Empty: it has one (the system's cache has it then, mostly). Otherwise why not. A look-up that hangs is left
// behind on a thread of its own. Thread: any.
std::string lookup_trouble(const std::string& host, std::chrono::steady_clock::time_point deadline,
                           const std::atomic<bool>& interrupted);

}  // namespace coilward_plugins
