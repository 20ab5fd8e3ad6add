#include "daemon/cli/say.h"

#include <fmt/format.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <nlohmann/json.hpp>
#include <string>

#include "daemon/cli/exit_code.h"

namespace coilward {

// Nobody need be listening: a closed pipe is no reason to end otherwise than one would.
void say(std::string_view line) {
  const std::string text = fmt::format("coilward: {}\n", line);
  std::fwrite(text.data(), 1, text.size(), stderr);
}

void print(std::string_view text) { std::fwrite(text.data(), 1, text.size(), stdout); }

void print_json(const Json& json) { print(json.dump(-1, ' ', false, Json::error_handler_t::replace) + "\n"); }

int fail(const Error& error) {
  say(error.what);
  return exit_code(error);
}

int finish(int code) {
  if (std::fflush(stdout) == 0 && std::ferror(stdout) == 0) return code;
  say(fmt::format("the output could not be written: {}", std::strerror(errno)));
  return code == kExitDone ? kExitFailed : code;
}

}  // namespace coilward
