#include "daemon/host/plugin_host.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cstring>
#include <filesystem>

#include "daemon/config/keys.h"

namespace coilward {
namespace {

bool good_name(const std::string& name) {
  return !name.empty() && std::all_of(name.begin(), name.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_';
  });
}

// "site.toml:12: [[notifier]] garden-mail: " before each line of what is wrong.
Error placed(const PluginPlace& place, const Error& error) {
  const std::string line = place.line > 0 ? fmt::format("{}:", place.line) : "";
  const std::string prefix = fmt::format("{}:{} {}: ", place.file, line, place.table);
  std::string out = prefix;
  for (char c : error.what) out += c == '\n' ? "\n" + prefix : std::string(1, c);
  return {error.cause, std::move(out)};
}

}  // namespace

PluginHost::PluginHost(std::string directory) : directory_(std::move(directory)) {}

std::vector<std::string> PluginHost::installed() const {
  std::vector<std::string> names;
  std::error_code error;
  for (std::filesystem::directory_iterator it(directory_, error), end; !error && it != end;
       it.increment(error))
    if (it->path().extension() == ".so" && good_name(it->path().stem())) names.push_back(it->path().stem());
  std::sort(names.begin(), names.end());
  return names;
}

Result<const LoadedPlugin*> PluginHost::open(const std::string& name) {
  if (const auto it = opened_.find(name); it != opened_.end()) return &it->second;
  const auto names = installed();
  if (!std::binary_search(names.begin(), names.end(), name)) {
    const std::string near = nearest(name, names);
    return Error{Cause::bad_config,
                 fmt::format("no plugin '{}' in {}; there are {}{}", name, directory_,
                             names.empty() ? "none" : fmt::format("{}", fmt::join(names, ", ")),
                             near.empty() ? "" : fmt::format(" (did you mean {}?)", near))};
  }
  auto loaded = load_plugin(std::filesystem::absolute(directory_) / (name + ".so"), name);
  if (!loaded) return loaded.error();
  return &opened_.emplace(name, std::move(*loaded)).first->second;
}

template <class Owner>
Result<Owner> PluginHost::create(const std::string& name, const nlohmann::ordered_json& settings,
                                 const PluginPlace& place) {
  const auto loaded = open(name);
  if (!loaded) return placed(place, loaded.error());
  const coilward_plugin& plugin = *(*loaded)->plugin;
  if (std::strcmp(plugin.kind, Owner::kKind) != 0)
    return placed(place, {Cause::bad_config, fmt::format("the plugin '{}' is of kind {}; needed is a {}",
                                                         name, plugin.kind, Owner::kKind)});
  auto complete = (*loaded)->schema.complete(settings);
  if (!complete) return placed(place, complete.error());
  if (const auto it = complete->find("directory"); it != complete->end() && *it == "") *it = place.directory;
  if (const auto files = (*loaded)->schema.check_files(*complete); !files)
    return placed(place, files.error());
  auto object =
      PluginObject::create(plugin, complete->dump(-1, ' ', false, nlohmann::json::error_handler_t::replace));
  if (!object) return placed(place, object.error());
  return Owner(std::move(*object));
}

Result<Decoder> PluginHost::decoder(const std::string& name, const nlohmann::ordered_json& settings,
                                    const PluginPlace& place) {
  return create<Decoder>(name, settings, place);
}

Result<Notifier> PluginHost::notifier(const std::string& name, const nlohmann::ordered_json& settings,
                                      const PluginPlace& place) {
  return create<Notifier>(name, settings, place);
}

Result<Exporter> PluginHost::exporter(const std::string& name, const nlohmann::ordered_json& settings,
                                      const PluginPlace& place) {
  return create<Exporter>(name, settings, place);
}

}  // namespace coilward
