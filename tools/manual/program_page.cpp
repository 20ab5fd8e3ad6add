#include <fmt/format.h>

#include <algorithm>

#include "tools/manual/pages.h"

namespace coilward {
namespace {

std::string synopsis_of(const OptionHelp& option) {
  std::string text =
      option.positional ? "\\fI" + roff(option.name) + "\\fR" : "\\fB" + roff(option.name) + "\\fR";
  if (!option.positional && !option.value.empty()) text += " \\fI" + roff(option.value) + "\\fR";
  return text;
}

bool is_common(const ProgramHelp& program, const OptionHelp& option) {
  return std::ranges::count(program.common, option) > 0;
}

bool is_help(const OptionHelp& option) { return option.name == "--help" || option.name == "--version"; }

std::string entry(const OptionHelp& option) {
  std::string text = ".TP\n" + synopsis_of(option) + "\n" + roff(option.help);
  if (!option.choices.empty())
    text += fmt::format(": {}", roff(fmt::format("{}", fmt::join(option.choices, ", "))));
  return text + (option.required ? " (needed)\n" : "\n");
}

// Positionals last: that is where people write them.
std::string usage(const ProgramHelp& program, const VerbHelp& verb) {
  std::string text;
  for (const bool positional : {false, true})
    for (const OptionHelp& option : verb.options) {
      if (option.positional != positional || is_help(option) || is_common(program, option)) continue;
      text += option.required ? " " + synopsis_of(option) : " [" + synopsis_of(option) + "]";
    }
  return text;
}

std::string verb_part(const ProgramHelp& program, const VerbHelp& verb) {
  const std::string its = usage(program, verb);
  std::string text = fmt::format(".SS {0}\n.B coilward {1}\n", verb.name, roff(verb.name));
  if (!its.empty()) text += its.substr(1) + "\n";
  text += fmt::format(".PP\n{}.\n", roff(verb.help));
  for (const OptionHelp& option : verb.options)
    if (!is_help(option) && !is_common(program, option)) text += entry(option);
  std::string shared;
  for (const OptionHelp& option : program.common)
    if (std::ranges::count(verb.options, option) > 0 && !is_help(option))
      shared += (shared.empty() ? "" : ", ") + synopsis_of(option);
  if (!shared.empty()) text += ".PP\nAlso: " + shared + ".\n";
  if (!verb.footer.empty() && verb.footer != program.footer) text += ".PP\n" + roff(verb.footer) + "\n";
  return text;
}

std::string synopsis(const ProgramHelp& program) {
  if (program.verbs.empty())
    return fmt::format(".B {}\n{}\n", program.name, usage(program, program).substr(1));
  return fmt::format(
      ".B {0}\n\\fIVERB\\fR [\\fIOPTION\\fR ...]\n.br\n.B {0}\n\\fIVERB\\fR \\fB\\-\\-help\\fR\n",
      program.name);
}

std::string lower_first(std::string text) {
  if (!text.empty() && text[0] >= 'A' && text[0] <= 'Z') text[0] = static_cast<char>(text[0] - 'A' + 'a');
  return text;
}

}  // namespace

std::string roff(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (c == '\\') {
      out += "\\e";
    } else if (c == '-') {
      out += "\\-";
    } else if ((c == '.' || c == '\'') && (out.empty() || out.back() == '\n')) {
      out += std::string("\\&") + c;
    } else {
      out += c;
    }
  }
  return out;
}

std::string program_page(const ProgramHelp& program, int section, const std::string& rest) {
  const std::string what = program.help.substr(0, program.help.find_first_of(".:"));
  std::string text = fmt::format(
      ".TH {} {} \"\" \"coilward {}\"\n.SH NAME\n{} \\- {}\n.SH SYNOPSIS\n{}.SH DESCRIPTION\n{}\n",
      program.name, section, COILWARD_VERSION, program.name, roff(lower_first(what)), synopsis(program),
      roff(program.help));
  text += ".SH OPTIONS\n";
  for (const OptionHelp& option : program.options) text += entry(option);
  for (const OptionHelp& option : program.common)
    if (!is_help(option)) text += entry(option);
  if (!program.verbs.empty()) text += ".SH VERBS\n";
  for (const VerbHelp& verb : program.verbs) text += verb_part(program, verb);
  return text + rest;
}

}  // namespace coilward
