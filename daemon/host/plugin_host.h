// Finds, checks and creates plugins. A plugin is NAME.so in one directory; it is opened when first asked for
// and never closed again. ABI, sizes and kind are looked at before anything else of it is used, its settings
// are checked against its own schema before it is created.
//
// Every error is bad_config and says file, line and table first, then the key, what was found and what is
// allowed.
#pragma once

#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/result.h"
#include "daemon/host/decoder.h"
#include "daemon/host/loaded_plugin.h"
#include "daemon/host/sender.h"

namespace coilward {

// Where in the configuration a plugin is asked for.
struct PluginPlace {
  std::string file;
  int line = 0;       // 0: not known
  std::string table;  // "[[notifier]] garden-mail"
  std::string
      directory;  // for files of its own: what a plugin's key `directory` is when nobody says it; empty: none
};

// Thread: one at a time.
class PluginHost {
 public:
  explicit PluginHost(std::string directory);  // Config::paths.plugins

  // settings: an object with the plugin's own keys; what is left out gets its default.
  Result<Decoder> decoder(const std::string& name, const nlohmann::ordered_json& settings,
                          const PluginPlace& place);
  Result<Notifier> notifier(const std::string& name, const nlohmann::ordered_json& settings,
                            const PluginPlace& place);
  Result<Exporter> exporter(const std::string& name, const nlohmann::ordered_json& settings,
                            const PluginPlace& place);

  // Names of the shared objects in the directory, sorted; they have not been opened.
  std::vector<std::string> installed() const;
  // Opens and checks one. The reference is good as long as the host.
  Result<const LoadedPlugin*> open(const std::string& name);

 private:
  template <class Owner>
  Result<Owner> create(const std::string& name, const nlohmann::ordered_json& settings,
                       const PluginPlace& place);

  std::string directory_;
  std::map<std::string, LoadedPlugin> opened_;
};

}  // namespace coilward
