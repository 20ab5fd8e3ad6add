// Questions to a person at the terminal, or to a script that gives its answers line by line. Thread: one.
#pragma once

#include <iosfwd>
#include <string>
#include <string_view>

#include "daemon/base/result.h"

namespace coilward {

class Dialogue {
 public:
  // Both outlive it.
  Dialogue(std::istream& answers, std::ostream& words) : answers_(answers), words_(words) {}

  void say(std::string_view text);
  // An empty answer is `otherwise`. world: the answers ended.
  Result<std::string> ask(std::string_view question, std::string_view otherwise = {});
  Result<bool> yes(std::string_view question, bool otherwise);
  // Asked again until it is one of `allowed`, separated by blanks; the first is the default.
  Result<std::string> choose(std::string_view question, std::string_view allowed);
  // Asked again until it is a number in the range.
  Result<double> number(std::string_view question, double otherwise, double low, double high);

 private:
  std::istream& answers_;
  std::ostream& words_;
};

}  // namespace coilward
