// The keys a plugin takes, as it says itself, and the check of a user's settings against them.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/result.h"

namespace coilward {

enum class SettingType : std::uint8_t { text, integer, number, boolean, list, table, pointer, file };

struct SettingSpec {
  std::string key;
  SettingType type = SettingType::text;
  std::string unit;
  std::string help;
  bool required = false;
  bool secret_file = false;          // a file that only its owner should read
  nlohmann::ordered_json otherwise;  // null: no default
  std::vector<std::string> allowed;  // of a text; empty: any
};

struct SettingsSchema {
  std::vector<SettingSpec> keys;

  // From plugin.h's config_schema. bad_config: it is not one, and why.
  static Result<SettingsSchema> parse(std::string_view json);

  // The settings with defaults filled in. bad_config: every complaint, one a line: unknown key ("did you
  // mean"), missing, wrong type, what is allowed. Looks at no file.
  Result<nlohmann::ordered_json> complete(const nlohmann::ordered_json& settings) const;
  // Files that are named must be there and readable; a secret one must not be open to everybody. Looks only.
  Result<bool> check_files(const nlohmann::ordered_json& settings) const;
};

// "text in quotes", "a whole number (s)": what is allowed.
std::string allowed_text(const SettingSpec& spec);

}  // namespace coilward
