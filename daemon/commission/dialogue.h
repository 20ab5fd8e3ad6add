// Questions to a person, and words to them: at the terminal, by a script that gives its answers line by line,
// or on a page (guided_walk.h). Thread: one.
#pragma once

#include <iosfwd>
#include <string>
#include <string_view>
#include <vector>

#include "daemon/base/result.h"

namespace coilward {

struct Question {
  enum class Kind : std::uint8_t { text, number, choice, done };  // done: something is to be done, and said
  Kind kind = Kind::text;
  std::string text;
  std::string otherwise;             // what an empty answer stands for
  std::vector<std::string> choices;  // of choice; of done, "skip" where it may be left out
  double low = 0, high = 0;          // of number
};

class Dialogue {
 public:
  virtual ~Dialogue() = default;

  virtual void say(std::string_view text) = 0;
  // An empty answer is `otherwise`. world, of all: the answers ended.
  Result<std::string> ask(std::string_view question, std::string_view otherwise = {});
  Result<bool> yes(std::string_view question, bool otherwise);
  // Asked again until it is one of `allowed`, separated by blanks; the first is the default.
  Result<std::string> choose(std::string_view question, std::string_view allowed);
  // Asked again until it is a number in the range.
  Result<double> number(std::string_view question, double otherwise, double low, double high);
  // Waits until it is done ("Switch zone 4 on at the controller"). false: it was left out, where that is
  // allowed.
  Result<bool> done(std::string_view what, bool may_skip);

 protected:
  // Without blanks around it; may be empty.
  virtual Result<std::string> answer_to(const Question& question) = 0;
};

// Both streams outlive it.
class TerminalDialogue final : public Dialogue {
 public:
  TerminalDialogue(std::istream& answers, std::ostream& words) : answers_(answers), words_(words) {}
  void say(std::string_view text) override;

 private:
  Result<std::string> answer_to(const Question& question) override;
  std::istream& answers_;
  std::ostream& words_;
};

std::string without_blanks_around(std::string_view text);

}  // namespace coilward
