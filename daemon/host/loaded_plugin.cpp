#include "daemon/host/loaded_plugin.h"

#include <dlfcn.h>
#include <fmt/format.h>

#include <cstring>

namespace coilward {
namespace {

Error refused(const std::string& path, std::string why) {
  return {Cause::bad_config, fmt::format("{}: {}", path, why)};
}

struct Kind {
  const char* name;
  std::size_t size;
  bool (*complete)(const void* functions);
};

template <class T>
bool sends(const void* functions) {
  const auto& f = *static_cast<const T*>(functions);
  if constexpr (std::is_same_v<T, coilward_notifier>)
    return f.deliver && f.interrupt;
  else
    return f.store && f.interrupt;
}

constexpr Kind kKinds[] = {
    {"decoder", sizeof(coilward_decoder),
     [](const void* f) { return static_cast<const coilward_decoder*>(f)->decode != nullptr; }},
    {"notifier", sizeof(coilward_notifier), sends<coilward_notifier>},
    {"exporter", sizeof(coilward_exporter), sends<coilward_exporter>},
};

const Kind* find_kind(const char* name) {
  for (const auto& kind : kKinds)
    if (std::strcmp(kind.name, name) == 0) return &kind;
  return nullptr;
}

// abi and size stand first in every version of the descriptor: nothing else may be read before they fit.
std::string header_trouble(const coilward_plugin& plugin) {
  if (plugin.abi != COILWARD_PLUGIN_ABI)
    return fmt::format("built for plugin ABI {}; this program has ABI {}", plugin.abi, COILWARD_PLUGIN_ABI);
  if (plugin.size < sizeof(coilward_plugin))
    return fmt::format("its descriptor has {} bytes; ABI {} has {}", plugin.size, COILWARD_PLUGIN_ABI,
                       sizeof(coilward_plugin));
  return "";
}

std::string functions_trouble(const coilward_plugin& plugin) {
  const Kind* kind = find_kind(plugin.kind);
  if (!kind) return fmt::format("of kind '{}'; allowed are decoder, notifier, exporter", plugin.kind);
  if (const auto size = *static_cast<const std::size_t*>(plugin.functions); size < kind->size)
    return fmt::format("its {} functions have {} bytes; ABI {} has {}", kind->name, size, COILWARD_PLUGIN_ABI,
                       kind->size);
  return kind->complete(plugin.functions) ? ""
                                          : fmt::format("one of its {} functions is missing", kind->name);
}

std::string trouble(const coilward_plugin& plugin, const std::string& name) {
  if (auto why = header_trouble(plugin); !why.empty()) return why;
  if (!plugin.kind || !plugin.name || !plugin.version || !plugin.config_schema || !plugin.create ||
      !plugin.destroy || !plugin.functions)
    return "its descriptor is incomplete";
  if (plugin.name != name)
    return fmt::format("it calls itself '{}'; allowed is the file's name, '{}'", plugin.name, name);
  return functions_trouble(plugin);
}

}  // namespace

Result<LoadedPlugin> load_plugin(const std::string& path, const std::string& name) {
  void* library = ::dlopen(path.c_str(), RTLD_NOW | RTLD_LOCAL);
  if (!library) return refused(path, fmt::format("cannot be opened: {}", ::dlerror()));
  const auto* plugin = static_cast<const coilward_plugin*>(::dlsym(library, "coilward_plugin_entry"));
  if (!plugin) return refused(path, "no plugin: it has no symbol coilward_plugin_entry");
  if (auto why = trouble(*plugin, name); !why.empty()) return refused(path, std::move(why));
  auto schema = SettingsSchema::parse(plugin->config_schema);
  if (!schema) return refused(path, schema.error().what);
  return LoadedPlugin{plugin, std::move(*schema)};
}

}  // namespace coilward
