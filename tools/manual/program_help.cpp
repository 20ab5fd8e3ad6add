#include "tools/manual/program_help.h"

#include <algorithm>
#include <utility>

#include "daemon/cli/command_setup.h"
#include "daemon/daemon_options.h"

namespace coilward {
namespace {

constexpr std::ptrdiff_t kCommonFrom = 5;  // verbs with the same option

// "TEXT:{a,b}" is how CLI11 tells what a value may be.
std::vector<std::string> choices_in(const std::string& type) {
  std::vector<std::string> choices;
  const auto open = type.find('{'), close = type.find('}');
  if (open == std::string::npos || close == std::string::npos) return choices;
  std::string word;
  for (const char c : type.substr(open + 1, close - open - 1) + ",") {
    if (c != ',') {
      word += c;
    } else if (!word.empty()) {
      choices.push_back(std::exchange(word, {}));
    }
  }
  return choices;
}

OptionHelp described(const CLI::Option& option) {
  OptionHelp help;
  const std::string type = option.get_type_name();
  help.positional = option.get_positional();
  if (help.positional)
    help.name = type.empty() || type.starts_with("TEXT") ? option.get_name() : type;
  else
    help.name = "--" + option.get_lnames().at(0);
  help.choices = choices_in(type);
  if (option.get_items_expected_max() > 0)
    help.value = help.choices.empty() ? type.substr(0, type.find(':')) : "WORD";
  help.help = option.get_description();
  help.required = option.get_required();
  return help;
}

// An option group is an app without a name.
void add_options(const CLI::App& app, std::vector<OptionHelp>& into) {
  for (const CLI::Option* option : app.get_options())
    if (option->nonpositional() ? !option->get_lnames().empty() : true) into.push_back(described(*option));
  for (const CLI::App* group :
       app.get_subcommands([](const CLI::App* sub) { return sub->get_name().empty(); }))
    add_options(*group, into);
}

VerbHelp described(const CLI::App& app) {
  VerbHelp verb{app.get_name(), app.get_description(), app.get_footer(), {}};
  add_options(app, verb.options);
  return verb;
}

void find_common(ProgramHelp& program) {
  for (const VerbHelp& verb : program.verbs)
    for (const OptionHelp& option : verb.options) {
      const auto has = [&](const VerbHelp& other) { return std::ranges::count(other.options, option) > 0; };
      if (std::ranges::count_if(program.verbs, has) >= kCommonFrom &&
          std::ranges::count(program.common, option) == 0)
        program.common.push_back(option);
    }
}

ProgramHelp described_program(const CLI::App& app) {
  ProgramHelp program;
  static_cast<VerbHelp&>(program) = described(app);
  for (const CLI::App* verb :
       app.get_subcommands([](const CLI::App* sub) { return !sub->get_name().empty(); }))
    program.verbs.push_back(described(*verb));
  find_common(program);
  return program;
}

}  // namespace

ProgramHelp client_help() {
  CLI::App app;
  Action action;
  add_everything(app, action);
  return described_program(app);
}

ProgramHelp daemon_help() {
  CLI::App app{kDaemonHelp, "coilwardd"};
  DaemonOptions options;
  add_daemon_options(app, options, "");
  return described_program(app);
}

}  // namespace coilward
