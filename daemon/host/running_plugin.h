// Whose code this thread is in, so that a crash can be blamed on the right file.
#pragma once

namespace coilward {

// The name of the plugin that this thread is in; null: none. Async-signal-safe.
const char* running_plugin() noexcept;

// Around every call into a plugin. `name` outlives it.
class RunningPlugin {
 public:
  explicit RunningPlugin(const char* name) noexcept;
  ~RunningPlugin();
  RunningPlugin(const RunningPlugin&) = delete;
  RunningPlugin& operator=(const RunningPlugin&) = delete;

 private:
  const char* const before_;
};

}  // namespace coilward
