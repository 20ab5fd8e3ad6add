#include <fmt/format.h>

#include "daemon/config/keys.h"
#include "tools/manual/pages.h"

namespace coilward {
namespace {

std::string heading(const TableSpec& table) {
  const std::string_view name = table.name;
  if (name == "decoder") return "[decoder.NAME]";
  return table.array ? fmt::format("[[{}]]", name) : fmt::format("[{}]", name);
}

std::string entry(const KeySpec& key) {
  const std::string otherwise = key.otherwise;
  std::string text = fmt::format(".TP\n.B {}\n{}: {}.", key.key, roff(allowed_text(key)), roff(key.help));
  if (key.required) return text + " Must be given.\n";
  return text + (otherwise.empty() ? "\n" : fmt::format(" Left out: {}.\n", roff(otherwise)));
}

}  // namespace

std::string config_page(const std::string& rest) {
  std::string text = fmt::format(
      ".TH coilward.toml 5 \"\" \"coilward {}\"\n.SH NAME\ncoilward.toml \\- configuration of one irrigation "
      "site\n.SH DESCRIPTION\nA TOML file, as a package installs it "
      "/etc/coilward/site.toml. A key that is not named here is an error, with file, line and what may have "
      "been "
      "meant; coilward check\\-config says whether a file is good.\n.SH TABLES AND KEYS\n",
      COILWARD_VERSION);
  for (const TableSpec& table : config_tables()) {
    text += fmt::format(".SS {}\n{}\n", roff(heading(table)), roff(table.help));
    for (const KeySpec& key : config_keys())
      if (std::string_view(key.table) == table.name) text += entry(key);
  }
  return text + rest;
}

}  // namespace coilward
