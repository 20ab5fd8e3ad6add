// Where a [[notifier]] or [[exporter]] stands in the configuration, for what a plugin complains of, and where
// it may keep files of its own. Thread: any.
#pragma once

#include <string>

#include "daemon/config/config.h"
#include "daemon/host/plugin_host.h"

namespace coilward {

// "/var/lib/coilward/webpush/phones": below the state directory, absolute, whatever the name is made of.
std::string own_directory(const Config& config, const PluginUse& use);
// table: "notifier" or "exporter".
PluginPlace place_of(const Config& config, const PluginUse& use, const std::string& table);

}  // namespace coilward
