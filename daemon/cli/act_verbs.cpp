// The verbs that change something: acknowledge, pause, repaired, test-alert, backup, restore.
#include <fmt/format.h>
#include <pwd.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "daemon/base/clock.h"
#include "daemon/cli/exit_code.h"
#include "daemon/cli/say.h"
#include "daemon/cli/verbs.h"
#include "daemon/cli/words.h"
#include "daemon/config/config.h"
#include "daemon/history/backup.h"

namespace coilward {
namespace {

Result<Json> act(const SiteOptions& options, const std::string& path, const Json& body) {
  const auto caller = reach_site(options);
  if (!caller) return caller.error();
  return (*caller)->post(path, body);
}

// JSON to stdout; for people one sentence.
int report(const SiteOptions& options, const Result<Json>& answer, std::string_view sentence) {
  if (!answer) return fail(answer.error());
  if (options.json)
    print_json(*answer);
  else
    print(fmt::format("{}\n", sentence));
  return kExitDone;
}

bool is_number(const std::string& text) {
  return !text.empty() && text.size() <= 3 &&
         std::all_of(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; });
}

// {"zone": 4} or {"common": "main"} from any of the ways to say it.
Result<Json> repair_body(const RepairOptions& options) {
  std::vector<std::string> words = options.target;
  if (options.zone) words = {"zone", std::to_string(*options.zone)};
  if (!options.common.empty()) words = {"common", options.common};
  if (words.size() == 1) words.insert(words.begin(), is_number(words[0]) ? "zone" : "common");
  if (words.size() != 2 || (words[0] != "zone" && words[0] != "common"))
    return Error{Cause::bad_input, "say what was repaired: --zone 4 or --common main"};
  if (words[0] == "common") return json_result({{"common", words[1]}, {"by", options.by}});
  if (!is_number(words[1]))
    return Error{Cause::bad_input, fmt::format("'{}' is not a zone's number", words[1])};
  return json_result({{"zone", std::stoi(words[1])}, {"by", options.by}});
}

std::string files_in_words(const Json& answer) {
  std::string words = fmt::format("{} holds a checked copy:", answer["directory"].get<std::string>());
  for (const Json& file : answer["files"])
    words += fmt::format("\n  {}  {} bytes  sha256 {}", file["name"].get<std::string>(), file["bytes"].dump(),
                         file["sha256"].get<std::string>());
  return words;
}

Result<std::string> state_directory(const SiteOptions& options) {
  if (!options.state.empty()) return options.state;
  if (options.config.empty()) return Error{Cause::bad_input, "say where to: --state DIR or --config FILE"};
  const auto config = load_config(options.config);
  if (!config) return config.error();
  return config->paths.state;
}

Json report_json(const BackupReport& report, const std::string& state) {
  Json files = Json::array();
  for (const BackupFile& file : report.files)
    files.push_back({{"name", file.name}, {"bytes", file.bytes}, {"sha256", file.sha256}});
  return {{"restored", true},
          {"backup", report.directory},
          {"taken", time_or_null(report.taken)},
          {"state", state},
          {"files", files}};
}

}  // namespace

std::string person() {
  for (const char* name : {"SUDO_USER", "USER"})
    if (const char* value = std::getenv(name); value && *value) return value;
  const passwd* entry = ::getpwuid(::getuid());
  return entry ? entry->pw_name : "";
}

int acknowledge(const AcknowledgeOptions& options) {
  Json body = {{"by", options.by}};
  if (!options.length.empty()) body["for"] = options.length;
  if (!options.until.empty()) body["until"] = options.until;
  const auto answer = act(options.site, "/api/v1/findings/" + options.finding + "/acknowledge", body);
  const bool snoozed = answer && answer->contains("until") && (*answer)["until"].is_string();
  return report(options.site, answer,
                snoozed
                    ? fmt::format("{} is acknowledged until {}: its alert comes again then unless it is over",
                                  options.finding, (*answer)["until"].get<std::string>())
                    : options.finding + " is acknowledged: its alert does not repeat unless it gets worse");
}

int pause_alerts(const PauseOptions& options) {
  Json body = {{"by", options.by}};
  if (options.zone) body["zone"] = *options.zone;
  const std::string what = options.zone ? fmt::format("zone {}", *options.zone) : "the site";
  if (options.end)
    return report(options.site, act(options.site, "/api/v1/resume", body),
                  "alerts of " + what + " go out again");
  if (!options.length.empty()) body["for"] = options.length;
  if (!options.until.empty()) body["until"] = options.until;
  if (!options.reason.empty()) body["reason"] = options.reason;
  const auto answer = act(options.site, "/api/v1/pause", body);
  const std::string until = answer ? (*answer)["until"].get<std::string>() : "";
  return report(options.site, answer, fmt::format("alerts of {} are held until {}", what, until));
}

int repaired(const RepairOptions& options) {
  auto body = repair_body(options);
  if (!body) return fail(body.error());
  if (options.new_coil) (*body)["new_coil"] = true;
  return report(
      options.site, act(options.site, "/api/v1/repaired", *body),
      "marked as repaired: findings close when the next runs prove it, and the draw is learned anew");
}

int test_alert_verb(const SiteOptions& options, const std::string& notifier) {
  const auto answer = act(options, "/api/v1/test-alert", {{"notifier", notifier}});
  if (!answer) return fail(answer.error());
  const std::string outcome = answer->value("outcome", "");
  const char* how = outcome == "done"    ? "delivered"
                    : outcome == "retry" ? "not delivered (an alert would be tried again for a day)"
                                         : "refused (an alert would not be tried again)";
  const int shown =
      report(options, answer, fmt::format("{}: {}: {}", notifier, how, answer->value("words", "")));
  return shown == kExitDone && outcome != "done" ? kExitFailed : shown;
}

int backup_site(const SiteOptions& options, const std::string& directory) {
  const std::string target = std::filesystem::absolute(directory).lexically_normal().string();
  const auto answer = act(options, "/api/v1/backup", {{"directory", target}});
  return report(options, answer, answer ? files_in_words(*answer) : "");
}

int restore_site(const RestoreOptions& options) {
  const auto state = state_directory(options.site);
  if (!state) return fail(state.error());
  const auto restored = restore_backup(options.backup, *state, SystemClock().utc());
  if (!restored) {
    say(restored.error().what);
    return kExitFailed;  // a bad backup is no wrong usage
  }
  if (options.site.json)
    print_json(report_json(*restored, *state));
  else
    print(fmt::format("{} is restored from the copy of {}; what was there stays beside it\n", *state,
                      format_rfc3339(restored->taken)));
  return kExitDone;
}

}  // namespace coilward
