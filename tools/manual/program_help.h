// What a program says of its own options and verbs, for its manual page and for completion in shells. Thread:
// any.
#pragma once

#include <string>
#include <vector>

namespace coilward {

struct OptionHelp {
  std::string name;                  // "--state"; of a positional its place holder, "FINDING"
  std::string value;                 // what stands after it: "DIR"; empty for a flag
  std::vector<std::string> choices;  // of the value; empty: free
  std::string help;
  bool required = false;
  bool positional = false;

  friend bool operator==(const OptionHelp&, const OptionHelp&) = default;
};

struct VerbHelp {
  std::string name, help, footer;
  std::vector<OptionHelp> options;
};

struct ProgramHelp : VerbHelp {
  std::vector<VerbHelp> verbs;
  std::vector<OptionHelp> common;  // those that five verbs or more have alike; each is in `options` too
};

ProgramHelp client_help();
ProgramHelp daemon_help();

}  // namespace coilward
