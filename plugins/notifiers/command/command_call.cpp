#include "plugins/notifiers/command/command_call.h"

#include <sysexits.h>

#include <algorithm>
#include <cerrno>
#include <cstdlib>
#include <stdexcept>

namespace coilward_plugins {
namespace {

using Json = nlohmann::json;

constexpr double kMargin_s = 0.5;  // of the host's time limit, for ending the program and its children

std::string variable(const char* name, const std::string& value) {
  std::string text = std::string(name) + "=" + value;
  std::replace(text.begin(), text.end(), '\0', ' ');
  return text;
}

// Only what a script needs: the daemon's own environment may point at credentials.
std::vector<std::string> environment_for(const Json& alert) {
  std::vector<std::string> list = {variable("COILWARD_ID", alert.value("id", "")),
                                   variable("COILWARD_KIND", alert.value("kind", "")),
                                   variable("COILWARD_SEVERITY", alert.value("severity", "")),
                                   variable("COILWARD_SITE", alert.value("site", "")),
                                   variable("COILWARD_SUBJECT", alert.value("subject", ""))};
  for (const char* name : {"PATH", "HOME", "LANG", "TZ"})
    if (const char* value = std::getenv(name)) list.push_back(variable(name, value));
  return list;
}

Reply judge(const ChildResult& child) {
  const std::string said = child.words.empty() ? "" : ": " + child.words;
  switch (child.end) {
    case ChildResult::End::interrupted:
      return {COILWARD_RETRY, "interrupted"};
    case ChildResult::End::timed_out:
      return {COILWARD_RETRY, "ran out of time and was killed" + said};
    case ChildResult::End::killed_by_signal:
      return {COILWARD_REFUSED, "ended by signal " + std::to_string(child.status) + said};
    case ChildResult::End::not_started: {
      const bool short_of = child.status == EAGAIN || child.status == ENOMEM || child.status == EMFILE;
      return {short_of ? COILWARD_RETRY : COILWARD_REFUSED, "could not be started" + said};
    }
    case ChildResult::End::exited:
      break;
  }
  const std::string words = "exit status " + std::to_string(child.status) + said;
  if (child.status == 0) return {COILWARD_DONE, words};
  return {child.status == EX_TEMPFAIL ? COILWARD_RETRY : COILWARD_REFUSED, words};
}

}  // namespace

Command::Command(const Json& json) : arguments_(json.value("run", std::vector<std::string>())) {
  if (arguments_.empty() || arguments_[0].empty())
    throw std::invalid_argument("run must name a program and its arguments, as a list");
  for (const auto& argument : arguments_)
    if (argument.find('\0') != std::string::npos) throw std::invalid_argument("run must not hold zero bytes");
}

Reply Command::deliver(std::string_view alert_json, double timeout_s) {
  const Json alert = Json::parse(alert_json, nullptr, false);
  if (!alert.is_object()) return {COILWARD_REFUSED, "the alert is not a JSON object"};
  interrupter_.clear();
  return judge(run_child(arguments_, environment_for(alert), alert_json, std::max(0.1, timeout_s - kMargin_s),
                         interrupter_));
}

}  // namespace coilward_plugins
