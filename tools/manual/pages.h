// Manual pages as roff (man(7)), and completions for shells. Thread: any.
#pragma once

#include <string>

#include "tools/manual/program_help.h"

namespace coilward {

// Name, synopsis, description, options and verbs, and then `rest`: sections written by hand.
std::string program_page(const ProgramHelp& program, int section, const std::string& rest);
// coilward.toml(5), from the table that checks a configuration.
std::string config_page(const std::string& rest);

std::string bash_completion(const ProgramHelp& program);
std::string zsh_completion(const ProgramHelp& program);
std::string fish_completion(const ProgramHelp& program);

// Text that roff does not take for its own.
std::string roff(const std::string& text);

}  // namespace coilward
