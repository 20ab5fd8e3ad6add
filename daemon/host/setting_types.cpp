#include "daemon/host/setting_types.h"

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cmath>
#include <cstring>

namespace coilward {
namespace {

using Json = nlohmann::ordered_json;

struct TypeName {
  const char* name;
  SettingType type;
  const char* allowed;
};

constexpr TypeName kTypes[] = {
    {"text", SettingType::text, "text in quotes"},
    {"integer", SettingType::integer, "a whole number"},
    {"number", SettingType::number, "a number"},
    {"boolean", SettingType::boolean, "true or false"},
    {"list", SettingType::list, "a list of texts"},
    {"table", SettingType::table, "a table of texts"},
    {"pointer", SettingType::pointer, "a JSON pointer (RFC 6901) such as \"/current/value\""},
    {"file", SettingType::file, "the path of a file, in quotes"},
};

bool all_texts(const Json& value) {
  return std::all_of(value.begin(), value.end(), [](const Json& item) { return item.is_string(); });
}

// RFC 6901 section 3: empty, or each token led by '/', with '~' only as ~0 and ~1.
bool is_pointer(const std::string& text) {
  if (!text.empty() && text[0] != '/') return false;
  for (std::size_t at = text.find('~'); at != std::string::npos; at = text.find('~', at + 1))
    if (at + 1 == text.size() || (text[at + 1] != '0' && text[at + 1] != '1')) return false;
  return true;
}

bool is_allowed(const SettingSpec& spec, const std::string& text) {
  return spec.allowed.empty() ||
         std::find(spec.allowed.begin(), spec.allowed.end(), text) != spec.allowed.end();
}

}  // namespace

std::optional<SettingType> setting_type(std::string_view name) {
  for (const auto& type : kTypes)
    if (type.name == name) return type.type;
  return std::nullopt;
}

bool fits(const SettingSpec& spec, const Json& value) {
  switch (spec.type) {
    case SettingType::text:
      return value.is_string() && is_allowed(spec, value.get<std::string>());
    case SettingType::integer:
      return value.is_number_integer();
    case SettingType::number:
      return value.is_number() && std::isfinite(value.get<double>());
    case SettingType::boolean:
      return value.is_boolean();
    case SettingType::list:
      return value.is_array() && all_texts(value);
    case SettingType::table:
      return value.is_object() && all_texts(value);
    case SettingType::pointer:
      return value.is_string() && is_pointer(value.get<std::string>());
    case SettingType::file:
      return value.is_string() && !value.get<std::string>().empty();
  }
  return false;
}

std::string allowed_text(const SettingSpec& spec) {
  if (!spec.allowed.empty()) return fmt::format("one of \"{}\"", fmt::join(spec.allowed, "\", \""));
  for (const auto& type : kTypes)
    if (type.type == spec.type)
      return spec.unit.empty() ? type.allowed : fmt::format("{} ({})", type.allowed, spec.unit);
  return "";
}

std::string file_trouble(const std::string& path, bool secret) {
  struct stat found {};
  if (::stat(path.c_str(), &found) != 0) return fmt::format("{}: {}", path, std::strerror(errno));
  if (!S_ISREG(found.st_mode)) return fmt::format("{}: found no regular file", path);
  if (::access(path.c_str(), R_OK) != 0) return fmt::format("{}: {}", path, std::strerror(errno));
  if (secret && (found.st_mode & S_IROTH))
    return fmt::format(
        "{}: everybody can read it (mode {:03o}); allowed is a file that only its owner and group "
        "can, chmod 600 or 640",
        path, found.st_mode & 0777U);
  return "";
}

}  // namespace coilward
