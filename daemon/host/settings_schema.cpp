#include "daemon/host/settings_schema.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "daemon/config/keys.h"
#include "daemon/host/setting_types.h"

namespace coilward {
namespace {

using Json = nlohmann::ordered_json;

Error wrong_schema(const std::string& why) {
  return {Cause::bad_config, "its config_schema is wrong: " + why};
}

Result<SettingSpec> parse_spec(const Json& entry) {
  if (!entry.is_object() || !entry.contains("key") || !entry["key"].is_string() || !entry.contains("type") ||
      !entry["type"].is_string())
    return wrong_schema("each entry needs a key and a type");
  SettingSpec spec;
  spec.key = entry["key"];
  const auto type = setting_type(entry["type"].get<std::string>());
  if (!type) return wrong_schema(fmt::format("{}: no such type as {}", spec.key, entry["type"].dump()));
  spec.type = *type;
  spec.unit = entry.value("unit", "");
  spec.help = entry.value("help", "");
  spec.required = entry.value("required", false);
  spec.secret_file = entry.value("secret_file", false);
  spec.allowed = entry.value("allowed", std::vector<std::string>());
  if (entry.contains("default")) spec.otherwise = entry["default"];
  if (!spec.otherwise.is_null() && !fits(spec, spec.otherwise))
    return wrong_schema(
        fmt::format("{}: its default {} is not {}", spec.key, spec.otherwise.dump(), allowed_text(spec)));
  return spec;
}

const SettingSpec* find(const std::vector<SettingSpec>& keys, const std::string& key) {
  const auto it = std::find_if(keys.begin(), keys.end(), [&](const auto& spec) { return spec.key == key; });
  return it == keys.end() ? nullptr : &*it;
}

std::string unknown_key(const std::vector<SettingSpec>& keys, const std::string& key) {
  std::vector<std::string> known;
  for (const auto& spec : keys) known.push_back(spec.key);
  const std::string near = nearest(key, known);
  if (!near.empty()) return fmt::format("{}: unknown key; did you mean {}?", key, near);
  if (known.empty()) return fmt::format("{}: unknown key; this plugin has none", key);
  return fmt::format("{}: unknown key; allowed are {}", key, fmt::join(known, ", "));
}

// "" when it is fine.
std::string complaint(const std::vector<SettingSpec>& keys, const std::string& key, const Json& value) {
  const SettingSpec* spec = find(keys, key);
  if (!spec) return unknown_key(keys, key);
  if (fits(*spec, value)) return "";
  return fmt::format("{}: found {}; allowed is {}", key,
                     value.dump(-1, ' ', false, Json::error_handler_t::replace), allowed_text(*spec));
}

}  // namespace

Result<SettingsSchema> SettingsSchema::parse(std::string_view json) {
  const Json parsed = Json::parse(json, nullptr, false);
  if (!parsed.is_array()) return wrong_schema("it is not a JSON array");
  SettingsSchema schema;
  try {
    for (const auto& entry : parsed) {
      auto spec = parse_spec(entry);
      if (!spec) return spec.error();
      if (find(schema.keys, spec->key)) return wrong_schema(fmt::format("{} is there twice", spec->key));
      schema.keys.push_back(std::move(*spec));
    }
  } catch (const Json::exception& wrong) {  // a "help" that is a number, and the like
    return wrong_schema(wrong.what());
  }
  return schema;
}

Result<Json> SettingsSchema::complete(const Json& settings) const {
  std::vector<std::string> wrong;
  Json out = Json::object();
  if (!settings.is_object() && !settings.is_null())
    return Error{Cause::bad_config, "settings: allowed is a table"};
  for (const auto& [key, value] : settings.items()) {
    if (auto why = complaint(keys, key, value); !why.empty()) wrong.push_back(std::move(why));
    out[key] = value;
  }
  for (const auto& spec : keys) {
    if (out.contains(spec.key)) continue;
    if (spec.required)
      wrong.push_back(fmt::format("{}: missing; needed is {}", spec.key, allowed_text(spec)));
    if (!spec.otherwise.is_null()) out[spec.key] = spec.otherwise;
  }
  if (!wrong.empty()) return Error{Cause::bad_config, fmt::format("{}", fmt::join(wrong, "\n"))};
  return Result<Json>(boost::system::in_place_value, std::move(out));
}

Result<bool> SettingsSchema::check_files(const Json& settings) const {
  std::vector<std::string> wrong;
  for (const auto& spec : keys) {
    if (spec.type != SettingType::file || !settings.contains(spec.key)) continue;
    const auto path = settings[spec.key].get<std::string>();
    if (auto why = file_trouble(path, spec.secret_file); !why.empty())
      wrong.push_back(fmt::format("{}: {}", spec.key, why));
  }
  if (!wrong.empty()) return Error{Cause::bad_config, fmt::format("{}", fmt::join(wrong, "\n"))};
  return true;
}

}  // namespace coilward
