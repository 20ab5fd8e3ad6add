#include <fmt/format.h>

#include "daemon/config/keys.h"

namespace coilward {
namespace {

std::string heading(const TableSpec& table) {
  const std::string name = table.array                                 ? fmt::format("[[{}]]", table.name)
                           : std::string_view(table.name) == "decoder" ? "[decoder.NAME]"
                                                                       : fmt::format("[{}]", table.name);
  return fmt::format("\n## `{}`\n\n{}\n", name, table.help);
}

std::string row(const KeySpec& key) {
  const std::string otherwise = key.required ? "must be given" : key.otherwise;
  return fmt::format("| `{}` | {} | {} | {} |\n", key.key, allowed_text(key), otherwise, key.help);
}

}  // namespace

std::string config_reference() {
  std::string out =
      "# Every key of the configuration\n\n"
      "Made from the table that checks the file (daemon/config/keys.cpp). A key that is not here is an "
      "error.\n";
  for (const auto& table : config_tables()) {
    out += heading(table);
    std::string rows;
    for (const auto& key : config_keys())
      if (std::string_view(key.table) == table.name) rows += row(key);
    if (!rows.empty()) out += "\n| key | allowed | left out | is |\n|---|---|---|---|\n" + rows;
  }
  return out;
}

}  // namespace coilward
