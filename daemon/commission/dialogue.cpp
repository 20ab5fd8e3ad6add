#include "daemon/commission/dialogue.h"

#include <fmt/format.h>

#include <cstdlib>
#include <istream>
#include <ostream>

namespace coilward {
namespace {

std::string trimmed(const std::string& text) {
  const auto from = text.find_first_not_of(" \t\r");
  if (from == std::string::npos) return {};
  return text.substr(from, text.find_last_not_of(" \t\r") - from + 1);
}

}  // namespace

void Dialogue::say(std::string_view text) { words_ << text << "\n" << std::flush; }

Result<std::string> Dialogue::ask(std::string_view question, std::string_view otherwise) {
  words_ << question << (otherwise.empty() ? "" : fmt::format(" [{}]", otherwise)) << " " << std::flush;
  std::string line;
  if (!std::getline(answers_, line))
    return Error{Cause::world, "the answers ended before the end; nothing was written"};
  line = trimmed(line);
  return line.empty() ? std::string(otherwise) : line;
}

Result<bool> Dialogue::yes(std::string_view question, bool otherwise) {
  const auto answer = choose(question, otherwise ? "yes no" : "no yes");
  if (!answer) return answer.error();
  return *answer == "yes";
}

Result<std::string> Dialogue::choose(std::string_view question, std::string_view allowed) {
  const std::string first(allowed.substr(0, allowed.find(' ')));
  for (;;) {
    auto answer = ask(fmt::format("{} ({})", question, allowed), first);
    if (!answer) return answer;
    const std::string padded = fmt::format(" {} ", allowed);
    // The first letters of an answer are enough.
    const auto at = padded.find(" " + *answer);
    if (answer->find(' ') == std::string::npos && at != std::string::npos)
      return padded.substr(at + 1, padded.find(' ', at + 1) - at - 1);
    say(fmt::format("'{}' is none of: {}", *answer, allowed));
  }
}

Result<double> Dialogue::number(std::string_view question, double otherwise, double low, double high) {
  for (;;) {
    const auto answer = ask(question, fmt::format("{:g}", otherwise));
    if (!answer) return answer.error();
    char* end = nullptr;
    const double value = std::strtod(answer->c_str(), &end);
    if (end != answer->c_str() && *end == '\0' && value >= low && value <= high) return value;
    say(fmt::format("'{}' is no number from {:g} to {:g}", *answer, low, high));
  }
}

}  // namespace coilward
