#include "daemon/cli/secret_input.h"

#include <fmt/format.h>
#include <termios.h>
#include <unistd.h>

#include <fstream>
#include <iostream>

namespace coilward {
namespace {

// The terminal does not show what is typed for as long as this lives. What was typed before is thrown away:
// make it before asking.
class Unseen {
 public:
  Unseen() : known_(::tcgetattr(STDIN_FILENO, &before_) == 0) {
    termios quiet = before_;
    quiet.c_lflag &= ~static_cast<tcflag_t>(ECHO);
    if (known_) ::tcsetattr(STDIN_FILENO, TCSAFLUSH, &quiet);
  }
  ~Unseen() {
    if (known_) ::tcsetattr(STDIN_FILENO, TCSAFLUSH, &before_);
  }
  Unseen(const Unseen&) = delete;
  Unseen& operator=(const Unseen&) = delete;

 private:
  termios before_{};
  const bool known_;
};

Result<std::string> first_line(std::istream& in, const std::string& what) {
  std::string line;
  if (!std::getline(in, line)) return Error{Cause::world, fmt::format("{}: there is no password", what)};
  if (line.ends_with('\r')) line.pop_back();
  return line;
}

Result<std::string> typed(const char* words) {
  const Unseen unseen;
  std::cerr << words << ": " << std::flush;
  auto line = first_line(std::cin, "standard input");
  std::cerr << "\n";
  return line;
}

Result<std::string> typed_twice() {
  auto once = typed("New password");
  if (!once) return once;
  const auto again = typed("The same again");
  if (!again) return again;
  if (*once != *again) return Error{Cause::bad_input, "the two passwords are not the same"};
  return once;
}

}  // namespace

Result<std::string> new_password(const std::string& file) {
  if (file.empty() && ::isatty(STDIN_FILENO)) return typed_twice();
  if (file.empty() || file == "-") return first_line(std::cin, "standard input");
  std::ifstream in(file);
  if (!in) return Error{Cause::world, fmt::format("{} cannot be read", file)};
  return first_line(in, file);
}

}  // namespace coilward
