// One created object of a plugin: destroyed with its owner, never copied.
#pragma once

#include <memory>
#include <string>
#include <utility>

#include "daemon/base/result.h"
#include "plugins/plugin.h"

namespace coilward {

// What the plugin sees of us. Its address stays while the object moves.
struct HostSide {
  explicit HostSide(std::string plugin_name);
  HostSide(const HostSide&) = delete;
  HostSide& operator=(const HostSide&) = delete;

  std::string name;  // of the plugin: prefix and key of its log lines
  std::string why;   // of the latest fail()
  coilward_host host{};
};

// Thread: as plugin.h says for each function; creation and destruction on the core thread.
class PluginObject {
 public:
  // config_json: complete settings. bad_config with the plugin's own words when it refuses.
  static Result<PluginObject> create(const coilward_plugin& plugin, const std::string& config_json);

  PluginObject(PluginObject&& other) noexcept
      : plugin_(other.plugin_), side_(std::move(other.side_)), self_(std::exchange(other.self_, nullptr)) {}
  PluginObject& operator=(PluginObject&& other) noexcept {
    std::swap(plugin_, other.plugin_);
    std::swap(side_, other.side_);
    std::swap(self_, other.self_);
    return *this;
  }
  ~PluginObject();

  void* self() const { return self_; }
  const std::string& name() const { return side_->name; }
  template <class Functions>
  const Functions& functions() const {
    return *static_cast<const Functions*>(plugin_->functions);
  }

 private:
  PluginObject(const coilward_plugin& plugin, std::unique_ptr<HostSide> side, void* self)
      : plugin_(&plugin), side_(std::move(side)), self_(self) {}

  const coilward_plugin* plugin_;
  std::unique_ptr<HostSide> side_;
  void* self_;
};

inline std::string_view view(coilward_text text) {
  return text.data ? std::string_view(text.data, text.size) : std::string_view();
}
inline coilward_text text(std::string_view view) { return {view.data(), view.size()}; }

}  // namespace coilward
