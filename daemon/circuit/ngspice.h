// For tests: runs ngspice in batch, in a directory of its own, and reads what its `print` commands said.
#pragma once

#include <stdlib.h>

#include <array>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "daemon/circuit/phasor.h"

namespace coilward::circuit {

inline std::string output_of(const std::string& command) {
  std::string text;
  FILE* pipe = popen(command.c_str(), "r");
  if (!pipe) return text;
  std::array<char, 4096> part;
  while (std::size_t size = fread(part.data(), 1, part.size(), pipe)) text.append(part.data(), size);
  pclose(pipe);
  return text;
}

inline bool ngspice_installed() { return !output_of("command -v ngspice").empty(); }
inline constexpr const char* kNoNgspice =
    "ngspice is not installed: the live comparison was not made (Debian package ngspice)";

// All it said, errors included.
inline std::string run_ngspice(const std::string& deck) {
  std::string name = std::filesystem::temp_directory_path() / "coilward-ngspice-XXXXXX";
  if (!mkdtemp(name.data())) return "no temporary directory";
  const std::filesystem::path directory(name);
  std::ofstream(directory / "deck.cir") << deck;
  std::string said = output_of("cd '" + name + "' && ngspice -b deck.cir 2>&1 </dev/null");
  std::filesystem::remove_all(directory);
  return said;
}

// Every "name = 1.5" and "name = 1.5,-2.5" in the order printed; names in small letters.
inline std::vector<std::pair<std::string, Phasor>> printed_values(const std::string& said) {
  std::vector<std::pair<std::string, Phasor>> values;
  std::istringstream in(said);
  for (std::string line; std::getline(in, line);) {
    const auto equals = line.find('=');
    double real = 0, imaginary = 0;
    if (equals == std::string::npos) continue;
    if (std::sscanf(line.c_str() + equals + 1, "%lf , %lf", &real, &imaginary) < 1) continue;
    const auto name_end = line.find_last_not_of(' ', equals - 1);
    if (equals > 0 && name_end != std::string::npos)
      values.emplace_back(line.substr(0, name_end + 1), Phasor(real, imaginary));
  }
  return values;
}

}  // namespace coilward::circuit
