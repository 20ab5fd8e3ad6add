// The verbs that show the present: zones, findings, health.
#include <fmt/format.h>

#include <map>
#include <nlohmann/json.hpp>

#include "daemon/cli/asking.h"
#include "daemon/cli/exit_code.h"
#include "daemon/cli/say.h"
#include "daemon/cli/table.h"
#include "daemon/cli/verbs.h"
#include "daemon/cli/words.h"

namespace coilward {
namespace {

std::string band(const Json& normal) {
  if (normal["hold_amps"].is_null()) return "-";
  const std::string range = normal["hold_low"].is_null()
                                ? ""
                                : fmt::format(" ({:.3f} to {:.3f})", normal["hold_low"].get<double>(),
                                              normal["hold_high"].get<double>());
  return quantity(normal["hold_amps"]) + range + (normal["provisional"].get<bool>() ? " *" : "");
}

using FaultsById = std::map<std::string, std::string>;

// Which fault it is, rather than that there is one.
std::string state_words(const Json& zone, const FaultsById& faults) {
  std::string words;
  for (const Json& id : zone["findings"])
    if (const auto it = faults.find(id.get<std::string>()); it != faults.end())
      words += (words.empty() ? "" : ", ") + it->second;
  if (words.empty()) words = zone["state"].get<std::string>();
  return words + (zone["on"].get<bool>() ? ", on" : "");
}

void add_zone(Table& table, const Json& zone, const FaultsById& faults, const std::string& timezone) {
  const Json& run = zone["last_run"];
  const int number = zone["zone"].get<int>();
  table.add({number == 0 ? "master" : std::to_string(number), zone["name"].get<std::string>(),
             state_words(zone, faults), band(zone["normal"]), zone["normal"]["runs"].dump(),
             run.is_null() ? "-" : quantity(run["hold_amps"]),
             run.is_null() ? "-" : local_seconds(run["start"], timezone)});
}

std::string forecast_words(const Json& finding, const std::string& timezone) {
  const auto forecast = finding.find("forecast");
  if (forecast == finding.end() || !forecast->is_object()) return {};
  const auto day = [&](const Json& time) { return local_seconds(time, timezone).substr(0, 10); };
  const Json& lift = (*forecast)["no_longer_lifts"];
  return fmt::format("\n  forecast: zone {} no longer opens from about {} on ({} to {})",
                     (*forecast)["zone"].get<int>(), day(lift["likely"]), day(lift["low"]),
                     day(lift["high"]));
}

std::string finding_words(const Json& finding, const std::string& timezone) {
  std::string where;
  for (const Json& stretch : finding["where"])
    where += fmt::format("{}{} to {} ({})", where.empty() ? "\n  where: " : ", ",
                         stretch["from"].get<std::string>(), stretch["to"].get<std::string>(),
                         percent(stretch["probability"]));
  const std::string ended =
      finding["closed"].is_null()
          ? ""
          : fmt::format(
                "\n  over since {}: {}", local_seconds(finding["closed"], timezone),
                finding.contains("close_reason") ? finding["close_reason"].get<std::string>() : "closed");
  const std::string known = finding["acknowledged_by"].is_string()
                                ? "\n  acknowledged by " + finding["acknowledged_by"].get<std::string>()
                                : "";
  return fmt::format("{}: {}, {}, {} sure, since {}\n  {}{}{}{}{}\n  id: {}\n",
                     finding["severity"].get<std::string>(), finding["fault"].get<std::string>(),
                     outputs(finding["zones"].get<std::vector<int>>()), percent(finding["probability"]),
                     local_seconds(finding["opened"], timezone), finding["summary"].get<std::string>(), where,
                     forecast_words(finding, timezone), ended, known, finding["id"].get<std::string>());
}

}  // namespace

int show_zones(const SiteOptions& options) {
  const auto shown = ask(options, "/api/v1/zones");
  if (!shown) return fail(shown.error());
  if (options.json) {
    for (const Json& zone : shown->answer["zones"]) print_json(zone);
    return kExitDone;
  }
  const auto open = ask(options, "/api/v1/findings");
  if (!open) return fail(open.error());
  FaultsById faults;
  for (const Json& finding : open->answer["findings"])
    faults[finding["id"].get<std::string>()] = finding["fault"].get<std::string>();
  Table table(
      {{"Zone", true}, {"Name"}, {"State"}, {"Normal draw"}, {"Runs", true}, {"Last", true}, {"Last run"}});
  bool provisional = false;
  for (const Json& zone : shown->answer["zones"]) {
    add_zone(table, zone, faults, shown->timezone);
    provisional =
        provisional || (zone["normal"]["provisional"].get<bool>() && !zone["normal"]["hold_amps"].is_null());
  }
  print(table.text());
  if (provisional) print("* a first estimate, from few runs\n");
  return kExitDone;
}

int show_findings(const SiteOptions& options, bool all) {
  const auto shown = ask(options, "/api/v1/findings", {{"all", all ? "1" : "0"}});
  if (!shown) return fail(shown.error());
  const Json& findings = shown->answer["findings"];
  for (const Json& finding : findings)
    options.json ? print_json(finding) : print(finding_words(finding, shown->timezone));
  if (findings.empty() && !options.json) say(all ? "no finding so far" : "no open finding");
  return kExitDone;
}

int show_health(const SiteOptions& options) {
  const auto shown = ask(options, "/api/v1/health");
  if (!shown) return fail(shown.error());
  const int code = shown->answer["ok"].get<bool>() ? kExitDone : kExitFailed;
  if (options.json) {
    print_json(shown->answer);
    return code;
  }
  Table table({{"Stage"}, {"State"}, {"Since"}, {"Why"}});
  for (const Json& stage : shown->answer["stages"])
    table.add({stage["stage"].get<std::string>(), stage["ok"].get<bool>() ? "ok" : "failed",
               local_seconds(stage["since"], shown->timezone), text_or_dash(stage["why"])});
  print(table.text());
  return code;
}

}  // namespace coilward
