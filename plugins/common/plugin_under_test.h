// Loads a built plugin through its C interface, as the host does, for its own tests.
#pragma once

#include <dlfcn.h>

#include <chrono>
#include <nlohmann/json.hpp>
#include <stdexcept>
#include <string>

#include "plugins/common/reply.h"

namespace coilward_plugins {

class PluginUnderTest {
 public:
  // file: such as "email.so", in the build tree's plugins folder. Throws std::runtime_error with the plugin's
  // words when it does not like the settings.
  PluginUnderTest(const std::string& file, const nlohmann::json& settings) {
    void* library = ::dlopen((std::string(COILWARD_BINARY_DIR "/plugins/") + file).c_str(), RTLD_NOW);
    if (library == nullptr) throw std::runtime_error(::dlerror());
    plugin_ = static_cast<const coilward_plugin*>(::dlsym(library, "coilward_plugin_entry"));
    if (plugin_ == nullptr || plugin_->abi != COILWARD_PLUGIN_ABI || plugin_->size < sizeof(coilward_plugin))
      throw std::runtime_error("not a plugin of this interface");
    const std::string text = settings.dump();
    self_ = plugin_->create(&host_, {text.data(), text.size()});
    if (self_ == nullptr) throw std::runtime_error(why_);
  }
  ~PluginUnderTest() { plugin_->destroy(self_); }
  PluginUnderTest(const PluginUnderTest&) = delete;
  PluginUnderTest& operator=(const PluginUnderTest&) = delete;

  Reply deliver(const std::string& json, double timeout_s = 10) {
    Reply reply;
    const auto* functions = static_cast<const coilward_notifier*>(plugin_->functions);
    reply.outcome = functions->deliver(self_, {json.data(), json.size()}, timeout_s, say, &reply.words);
    return reply;
  }
  Reply store(const std::string& json, double timeout_s = 10) {
    Reply reply;
    const auto* functions = static_cast<const coilward_exporter*>(plugin_->functions);
    reply.outcome = functions->store(self_, {json.data(), json.size()}, timeout_s, say, &reply.words);
    return reply;
  }
  // The two kinds have it at the same place.
  void interrupt() { static_cast<const coilward_notifier*>(plugin_->functions)->interrupt(self_); }

  const coilward_plugin& plugin() const { return *plugin_; }
  const std::string& logged() const { return logged_; }

 private:
  static void say(void* sink, coilward_text words) {
    static_cast<std::string*>(sink)->append(words.data, words.size);
  }
  static void log(void* self, int, coilward_text line) {
    static_cast<PluginUnderTest*>(self)->logged_ += std::string(line.data, line.size) + "\n";
  }
  static void fail(void* self, coilward_text why) {
    static_cast<PluginUnderTest*>(self)->why_.assign(why.data, why.size);
  }

  const coilward_plugin* plugin_ = nullptr;
  std::string why_, logged_;
  coilward_host host_{sizeof(coilward_host), this, log, fail};
  void* self_ = nullptr;
};

}  // namespace coilward_plugins
