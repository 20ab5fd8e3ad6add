// coilward-manual KIND [SECTIONS]: writes one manual page or completion to standard output. KIND: coilward.1,
// coilwardd.8, coilward.toml.5, or PROGRAM.SHELL, such as coilward.bash. SECTIONS: a file of sections that
// stand after those made from the program's own tables.
#include <fstream>
#include <functional>
#include <iostream>
#include <map>
#include <sstream>

#include "tools/manual/pages.h"

int main(int count, char** arguments) {
  using namespace coilward;
  std::ostringstream rest;
  if (count > 2) rest << std::ifstream(arguments[2]).rdbuf();
  const std::map<std::string, std::function<std::string()>> kinds = {
      {"coilward.1", [&] { return program_page(client_help(), 1, rest.str()); }},
      {"coilwardd.8", [&] { return program_page(daemon_help(), 8, rest.str()); }},
      {"coilward.toml.5", [&] { return config_page(rest.str()); }},
      {"coilward.bash", [] { return bash_completion(client_help()); }},
      {"coilwardd.bash", [] { return bash_completion(daemon_help()); }},
      {"coilward.zsh", [] { return zsh_completion(client_help()); }},
      {"coilwardd.zsh", [] { return zsh_completion(daemon_help()); }},
      {"coilward.fish", [] { return fish_completion(client_help()); }},
      {"coilwardd.fish", [] { return fish_completion(daemon_help()); }}};
  const auto kind = count > 1 ? kinds.find(arguments[1]) : kinds.end();
  if (kind == kinds.end()) {
    std::cerr << "coilward-manual: there are:";
    for (const auto& [name, make] : kinds) std::cerr << " " << name;
    std::cerr << "\n";
    return 2;
  }
  std::cout << kind->second();
}
