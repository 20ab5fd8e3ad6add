#include <fmt/format.h>

#include "tools/manual/pages.h"

namespace coilward {
namespace {

std::string fish_quoted(const std::string& text) {
  std::string out = "'";
  for (const char c : text) {
    if (c == '\'' || c == '\\') out += '\\';
    out += c;
  }
  return out + "'";
}

// What may stand there: -x takes nothing else, -r -F files.
std::string fish_values(const OptionHelp& option) {
  const std::string& kind = option.positional ? option.name : option.value;
  if (!option.choices.empty())
    return fmt::format(" -x -a {}", fish_quoted(fmt::format("{}", fmt::join(option.choices, " "))));
  if (kind == "DIR") return " -x -a '(__fish_complete_directories)'";
  if (kind == "FILE" || kind == "PATH" || kind == "RECORDING") return " -r -F";
  if (kind == "FINDING") return " -x -a '(__coilward_findings)'";
  return kind.empty() ? "" : " -x";
}

std::string line(const std::string& program, const std::string& when, const OptionHelp& option) {
  const std::string condition = when.empty() ? "" : fmt::format(" -n '{}'", when);
  if (!option.positional)
    return fmt::format("complete -c {}{} -l {} -d {}{}\n", program, condition, option.name.substr(2),
                       fish_quoted(option.help), fish_values(option));
  // Without a name, what a positional takes is offered at any place: only what is known is worth it.
  const std::string takes = option.name == "FILE" || option.name == "RECORDING" || option.name == "DIR"
                                ? " -F"
                                : fish_values(option);
  return fmt::format("complete -c {}{}{}\n", program, condition, takes);
}

}  // namespace

std::string fish_completion(const ProgramHelp& program) {
  std::string text = fmt::format("# fish completion for {}\n", program.name);
  if (!program.verbs.empty())
    text +=
        "function __coilward_findings\n"
        "  coilward findings --json 2>/dev/null | string replace -rf '^{\"id\": *\"([a-z0-9_-]*)\".*' "
        "'$1'\nend\n"
        "complete -c coilward -f\n";
  for (const OptionHelp& option : program.options)
    text += line(program.name, program.verbs.empty() ? "" : "__fish_use_subcommand", option);
  for (const VerbHelp& verb : program.verbs) {
    text += fmt::format("complete -c {} -n __fish_use_subcommand -a {} -d {}\n", program.name, verb.name,
                        fish_quoted(verb.help));
    for (const OptionHelp& option : verb.options)
      text += line(program.name, "__fish_seen_subcommand_from " + verb.name, option);
  }
  return text;
}

}  // namespace coilward
