// A shared object whose descriptor was looked at and found sound, and its settings' schema.
#pragma once

#include <string>

#include "daemon/base/result.h"
#include "daemon/host/settings_schema.h"
#include "plugins/plugin.h"

namespace coilward {

struct LoadedPlugin {
  const coilward_plugin* plugin = nullptr;  // for the life of the process
  SettingsSchema schema;
};

// Opens `path` and checks ABI, sizes, name (that of the file), functions and schema. Never closes it.
// bad_config: says which, with what was found and what is allowed.
Result<LoadedPlugin> load_plugin(const std::string& path, const std::string& name);

}  // namespace coilward
