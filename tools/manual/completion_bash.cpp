#include <fmt/format.h>

#include "tools/manual/pages.h"

namespace coilward {
namespace {

std::string names(const VerbHelp& verb) {
  std::string words;
  for (const OptionHelp& option : verb.options)
    if (!option.positional) words += (words.empty() ? "" : " ") + option.name;
  return words;
}

// What stands after an option, or in place of a positional, as a command that fills COMPREPLY.
std::string bash_values(const OptionHelp& option) {
  const std::string& kind = option.positional ? option.name : option.value;
  if (!option.choices.empty())
    return fmt::format("COMPREPLY=($(compgen -W '{}' -- \"$cur\"))", fmt::join(option.choices, " "));
  if (kind == "DIR") return "compopt -o filenames; COMPREPLY=($(compgen -d -- \"$cur\"))";
  if (kind == "FILE" || kind == "PATH" || kind == "RECORDING")
    return "compopt -o filenames; COMPREPLY=($(compgen -f -- \"$cur\"))";
  if (kind == "FINDING") return "COMPREPLY=($(compgen -W \"$(_coilward_findings)\" -- \"$cur\"))";
  return "COMPREPLY=()";
}

// The case of one verb: the word before the cursor decides, then what is being typed.
std::string verb_case(const VerbHelp& verb, const std::string& indent) {
  std::string text = indent + "case $prev in\n", positional = "COMPREPLY=()";
  for (const OptionHelp& option : verb.options) {
    if (option.positional && positional == "COMPREPLY=()") positional = bash_values(option);
    if (!option.positional && !option.value.empty())
      text += fmt::format("{}  {}) {}; return ;;\n", indent, option.name, bash_values(option));
  }
  text += indent + "esac\n";
  return text + fmt::format(
                    "{0}if [[ $cur == -* ]]; then COMPREPLY=($(compgen -W '{1}' -- \"$cur\")); return; fi\n"
                    "{0}{2}\n",
                    indent, names(verb), positional);
}

std::string verb_names(const ProgramHelp& program) {
  std::string words;
  for (const VerbHelp& verb : program.verbs) words += (words.empty() ? "" : " ") + verb.name;
  return words;
}

}  // namespace

std::string bash_completion(const ProgramHelp& program) {
  std::string text = fmt::format("# bash completion for {}\n", program.name);
  if (!program.verbs.empty())
    text +=
        "_coilward_findings() {\n"
        "  coilward findings --json 2>/dev/null | sed -n 's/^{\"id\": *\"\\([a-z0-9_-]*\\)\".*/\\1/p'\n}\n";
  text += fmt::format(
      "_{}() {{\n  local cur=${{COMP_WORDS[COMP_CWORD]}} prev=${{COMP_WORDS[COMP_CWORD-1]}}\n  "
      "COMPREPLY=()\n",
      program.name);
  if (program.verbs.empty()) {
    text += verb_case(program, "  ");
  } else {
    text += fmt::format(
        "  if ((COMP_CWORD == 1)); then COMPREPLY=($(compgen -W '{} {}' -- \"$cur\")); return; fi\n"
        "  case ${{COMP_WORDS[1]}} in\n",
        verb_names(program), names(program));
    for (const VerbHelp& verb : program.verbs)
      text += fmt::format("    {})\n{}      ;;\n", verb.name, verb_case(verb, "      "));
    text += "  esac\n";
  }
  return text + fmt::format("}}\ncomplete -F _{0} {0}\n", program.name);
}

}  // namespace coilward
