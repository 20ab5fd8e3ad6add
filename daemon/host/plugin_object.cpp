#include "daemon/host/plugin_object.h"

#include <fmt/format.h>

#include "daemon/base/log.h"
#include "daemon/host/foreign_text.h"
#include "daemon/host/running_plugin.h"

namespace coilward {
namespace {

constexpr std::size_t kLongestLine = 1024;  // bytes of one log line or reason

// Nothing may be thrown into the plugin's frames.
void write_log(void* ctx, int level, coilward_text line) noexcept {
  const auto& side = *static_cast<HostSide*>(ctx);
  constexpr log::Level kLevels[] = {log::Level::debug, log::Level::info, log::Level::warning,
                                    log::Level::error};
  const auto to = kLevels[level < 0 ? 0 : level > 3 ? 3 : level];
  log::limited(to, "plugin " + side.name, fmt::format("{}: {}", side.name, foreign_text(line, kLongestLine)));
}

void keep_reason(void* ctx, coilward_text why) noexcept {
  static_cast<HostSide*>(ctx)->why = foreign_text(why, kLongestLine);
}

}  // namespace

HostSide::HostSide(std::string plugin_name) : name(std::move(plugin_name)) {
  host = {sizeof(coilward_host), this, write_log, keep_reason};
}

Result<PluginObject> PluginObject::create(const coilward_plugin& plugin, const std::string& config_json) {
  auto side = std::make_unique<HostSide>(plugin.name);
  const RunningPlugin blamed(side->name.c_str());
  void* self = plugin.create(&side->host, text(config_json));
  if (!self) {
    const std::string& why = side->why;
    return Error{Cause::bad_config, why.empty() ? "the plugin refused its settings without a reason" : why};
  }
  return PluginObject(plugin, std::move(side), self);
}

PluginObject::~PluginObject() {
  if (!self_) return;
  const RunningPlugin blamed(side_->name.c_str());
  plugin_->destroy(self_);
}

}  // namespace coilward
