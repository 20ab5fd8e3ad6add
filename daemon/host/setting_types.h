// The types a plugin's setting can have, and whether a value is of one.
#pragma once

#include <optional>
#include <string>

#include "daemon/host/settings_schema.h"

namespace coilward {

std::optional<SettingType> setting_type(std::string_view name);  // as in plugin.h: "text", "pointer"
bool fits(const SettingSpec& spec, const nlohmann::ordered_json& value);
// What keeps this process from reading the file, or who else can read a secret; "" when nothing.
std::string file_trouble(const std::string& path, bool secret);

}  // namespace coilward
