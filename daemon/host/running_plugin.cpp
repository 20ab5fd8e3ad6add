#include "daemon/host/running_plugin.h"

#include <utility>

namespace coilward {
namespace {

thread_local const char* running = nullptr;

}  // namespace

const char* running_plugin() noexcept { return running; }

RunningPlugin::RunningPlugin(const char* name) noexcept : before_(std::exchange(running, name)) {}
RunningPlugin::~RunningPlugin() { running = before_; }

}  // namespace coilward
