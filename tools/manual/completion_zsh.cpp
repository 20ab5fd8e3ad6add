#include <fmt/format.h>

#include "tools/manual/pages.h"

namespace coilward {
namespace {

// Within '...[...]' and '...:...' of _arguments and _describe.
std::string zsh_quoted(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (c == '\'') {
      out += "'\\''";
    } else {
      if (c == '[' || c == ']' || c == ':' || c == '\\') out += '\\';
      out += c;
    }
  }
  return out;
}

std::string action(const OptionHelp& option) {
  const std::string& kind = option.positional ? option.name : option.value;
  if (!option.choices.empty()) return fmt::format("({})", fmt::join(option.choices, " "));
  if (kind == "DIR") return "_files -/";
  if (kind == "FILE" || kind == "PATH" || kind == "RECORDING") return "_files";
  if (kind == "FINDING") return "_coilward_findings";
  return " ";
}

std::string argument(const OptionHelp& option) {
  if (option.positional) return fmt::format("'*:{}:{}'", zsh_quoted(option.name), action(option));
  if (option.value.empty()) return fmt::format("'{}[{}]'", option.name, zsh_quoted(option.help));
  return fmt::format("'{}[{}]:{}:{}'", option.name, zsh_quoted(option.help), zsh_quoted(option.value),
                     action(option));
}

std::string arguments(const VerbHelp& verb, const std::string& indent) {
  std::string text = indent + "_arguments";
  for (const OptionHelp& option : verb.options) text += " \\\n" + indent + "  " + argument(option);
  return text + "\n";
}

}  // namespace

std::string zsh_completion(const ProgramHelp& program) {
  std::string text = fmt::format("#compdef {}\n", program.name);
  if (program.verbs.empty()) return text + arguments(program, "");
  text +=
      "_coilward_findings() {\n  local -a found\n"
      "  found=(${(f)\"$(coilward findings --json 2>/dev/null | sed -n 's/^{\"id\": "
      "*\"\\([a-z0-9_-]*\\)\".*/\\1/p')\"})\n"
      "  compadd -a found\n}\n"
      "_coilward() {\n  local -a verbs\n  verbs=(\n";
  for (const VerbHelp& verb : program.verbs)
    text += fmt::format("    '{}:{}'\n", verb.name, zsh_quoted(verb.help));
  text +=
      "  )\n  if ((CURRENT == 2)); then\n    _describe verb verbs\n    return\n  fi\n"
      "  local verb=$words[2]\n  shift words\n  ((CURRENT--))\n  case $verb in\n";
  for (const VerbHelp& verb : program.verbs)
    text += fmt::format("    {})\n{}      ;;\n", verb.name, arguments(verb, "      "));
  return text + "  esac\n}\n_coilward \"$@\"\n";
}

}  // namespace coilward
