// Inside the command line: how verbs are put into the parser. Only files that already pay for CLI11 include
// it.
#pragma once

#include <CLI/CLI.hpp>
#include <functional>
#include <memory>
#include <string>

#include "daemon/cli/verbs.h"

namespace coilward {

// What the chosen verb does; set by the parser, run afterwards.
using Action = std::function<int()>;

// Adds a verb whose options live in `held` until it has run.
template <class Options>
CLI::App* add_verb(CLI::App& app, Action& action, const std::string& name, const std::string& help,
                   const std::shared_ptr<Options>& held, int (*run)(const Options&)) {
  CLI::App* verb = app.add_subcommand(name, help);
  verb->callback([&action, held, run] { action = [held, run] { return run(*held); }; });
  return verb;
}

// --socket, --config, --state, and --json where the verb prints data.
void add_site_options(CLI::App* verb, SiteOptions& options);

// The whole program: what it parses, and what its manual page and completions are made of.
void add_everything(CLI::App& app, Action& action);
void add_show_verbs(CLI::App& app, Action& action);
void add_history_verbs(CLI::App& app, Action& action);
void add_act_verbs(CLI::App& app, Action& action);
void add_people_verbs(CLI::App& app, Action& action);
void add_bench_verbs(CLI::App& app, Action& action);  // check-config, replay, simulate

}  // namespace coilward
