#include "daemon/commission/dialogue.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <istream>
#include <ostream>
#include <sstream>

namespace coilward {
namespace {

constexpr const char* kSkip = "skip";

std::string joined_choices(const Question& question) {
  std::string list;
  for (const std::string& choice : question.choices) list += (list.empty() ? "" : " ") + choice;
  return list;
}

// The question as a terminal shows it, up to where the answer is typed.
std::string prompt_of(const Question& q) {
  if (q.kind == Question::Kind::done)
    return fmt::format("{}, then press Enter{}. ", q.text, q.choices.empty() ? "" : " (or: skip)");
  const std::string choices = q.kind == Question::Kind::choice ? fmt::format(" ({})", joined_choices(q)) : "";
  return fmt::format("{}{}{} ", q.text, choices,
                     q.otherwise.empty() ? "" : fmt::format(" [{}]", q.otherwise));
}

}  // namespace

std::string without_blanks_around(std::string_view text) {
  const auto from = text.find_first_not_of(" \t\r");
  if (from == std::string_view::npos) return {};
  return std::string(text.substr(from, text.find_last_not_of(" \t\r") - from + 1));
}

void TerminalDialogue::say(std::string_view text) { words_ << text << "\n" << std::flush; }

Result<std::string> TerminalDialogue::answer_to(const Question& question) {
  words_ << prompt_of(question) << std::flush;
  std::string line;
  if (!std::getline(answers_, line))
    return Error{Cause::world, "the answers ended before the end; nothing was written"};
  return without_blanks_around(line);
}

Result<std::string> Dialogue::ask(std::string_view question, std::string_view otherwise) {
  auto answer = answer_to({Question::Kind::text, std::string(question), std::string(otherwise), {}});
  if (answer && answer->empty()) return std::string(otherwise);
  return answer;
}

Result<bool> Dialogue::yes(std::string_view question, bool otherwise) {
  const auto answer = choose(question, otherwise ? "yes no" : "no yes");
  if (!answer) return answer.error();
  return *answer == "yes";
}

Result<std::string> Dialogue::choose(std::string_view question, std::string_view allowed) {
  std::istringstream words{std::string(allowed)};
  Question asked{Question::Kind::choice, std::string(question), {}, {}};
  for (std::string word; words >> word;) asked.choices.push_back(word);
  asked.otherwise = asked.choices.front();
  for (;;) {
    auto answer = answer_to(asked);
    if (!answer) return answer;
    if (answer->empty()) return asked.otherwise;
    // The first letters of an answer are enough.
    const auto found =
        std::ranges::find_if(asked.choices, [&](const std::string& c) { return c.starts_with(*answer); });
    if (found != asked.choices.end()) return *found;
    say(fmt::format("'{}' is none of: {}", *answer, allowed));
  }
}

Result<double> Dialogue::number(std::string_view question, double otherwise, double low, double high) {
  const Question asked{
      Question::Kind::number, std::string(question), fmt::format("{:g}", otherwise), {}, low, high};
  for (;;) {
    const auto answer = answer_to(asked);
    if (!answer) return answer.error();
    const std::string& text = answer->empty() ? asked.otherwise : *answer;
    char* end = nullptr;
    const double value = std::strtod(text.c_str(), &end);
    if (end != text.c_str() && *end == '\0' && value >= low && value <= high) return value;
    say(fmt::format("'{}' is no number from {:g} to {:g}", text, low, high));
  }
}

Result<bool> Dialogue::done(std::string_view what, bool may_skip) {
  Question asked{Question::Kind::done, std::string(what), {}, {}};
  if (may_skip) asked.choices.emplace_back(kSkip);
  const auto answer = answer_to(asked);
  if (!answer) return answer.error();
  return !may_skip || *answer != kSkip;
}

}  // namespace coilward
