// The verbs that show or hand out what was recorded: history, runs, export.
#include <fmt/format.h>

#include <cstdio>
#include <cstring>
#include <nlohmann/json.hpp>

#include "daemon/cli/exit_code.h"
#include "daemon/cli/line_sink.h"
#include "daemon/cli/say.h"
#include "daemon/cli/verbs.h"
#include "daemon/cli/words.h"

namespace coilward {
namespace {

using Query = std::map<std::string, std::string>;

bool for_people(const HistoryOptions& o) { return !o.site.json && !o.csv && !o.excel; }

// A table of everything would run for hours past a reader; a machine gets what it asks for.
constexpr std::string_view kTableSince = "24h";

Query query_of(const HistoryOptions& o) {
  Query query = {{"format", o.csv ? "csv" : o.excel ? "csv-excel" : "jsonl"}};
  if (!o.since.empty()) query["since"] = o.since;
  if (!o.until.empty()) query["until"] = o.until;
  if (!o.every.empty()) query["every"] = o.every;
  return query;
}

Result<std::vector<std::string>> paths_of(ApiCaller& caller, const HistoryOptions& o) {
  std::vector<std::string> paths;
  for (const int zone : o.zones) paths.push_back(fmt::format("/api/v1/zones/{}/history", zone));
  if (!o.channel.empty()) paths.push_back("/api/v1/history");
  if (!paths.empty()) return paths;
  const auto zones = caller.get("/api/v1/zones");
  if (!zones) return zones.error();
  for (const Json& zone : (*zones)["zones"])
    paths.push_back(fmt::format("/api/v1/zones/{}/history", zone["zone"].dump()));
  return paths;
}

Result<std::string> timezone_of(ApiCaller& caller) {
  const auto site = caller.get("/api/v1/site");
  if (!site) return site.error();
  return (*site)["timezone"].get<std::string>();
}

std::string reading_row(const Json& r, const std::string& timezone) {
  const std::string unit = r.value("unit", "");
  const std::string at =
      fmt::format("{:<21}{:<20}", local_seconds(r["time"], timezone), r["channel"].get<std::string>());
  if (!r.contains("count")) return at + fmt::format("{:>11}\n", quantity(r["value"], unit));
  return at + fmt::format("{:>11}{:>11}{:>11}{:>9}\n", quantity(r["lowest"], unit), quantity(r["mean"], unit),
                          quantity(r["highest"], unit), r["count"].dump());
}

std::string reading_title(bool thinned) {
  const std::string at = fmt::format("{:<21}{:<20}", "Time", "Channel");
  return at + (thinned ? fmt::format("{:>11}{:>11}{:>11}{:>9}\n", "Lowest", "Mean", "Highest", "Readings")
                       : fmt::format("{:>11}\n", "Value"));
}

std::string run_row(const Json& run, const std::string& timezone) {
  const auto start = parse_rfc3339(run["start"].get<std::string>());
  const auto end = parse_rfc3339(run["end"].is_string() ? run["end"].get<std::string>() : "");
  return fmt::format("{:<21}{:>6}  {:<13}{:<14}{:>10}{:>10}{:>9}{}\n", local_seconds(run["start"], timezone),
                     run["zone"] == 0 ? "master" : run["zone"].dump(),
                     start && end ? length_of_time(*start, *end) : "-", run["ended"].get<std::string>(),
                     quantity(run["hold_amps"]), quantity(run["inrush_amps"]), run["readings"].dump(),
                     run.value("work_on_site", false) ? "  work on site" : "");
}

std::string run_title() {
  return fmt::format("{:<21}{:>6}  {:<13}{:<14}{:>10}{:>10}{:>9}\n", "Start", "Zone", "Length", "Ended",
                     "Draw", "Inrush", "Readings");
}

using Row = std::string (*)(const Json&, const std::string&);

// Rows for people from JSON lines as they come.
Result<std::string> print_rows(ApiCaller& caller, const ApiRequest& request, Row row,
                               const std::string& timezone) {
  LineSink lines([&](std::string_view line) {
    const Json json = Json::parse(line, nullptr, false);
    if (json.is_object()) print(row(json, timezone));
  });
  return caller.call(request,
                     [&](std::string_view text) { return lines.take(text), std::ferror(stdout) == 0; });
}

// CSV or JSON lines as they are; of further channels without the header.
Result<std::string> print_raw(ApiCaller& caller, const ApiRequest& request, bool skip_header) {
  return caller.call(request, [&](std::string_view text) {
    if (skip_header) {
      const std::size_t end = text.find('\n');
      text.remove_prefix(end == std::string_view::npos ? text.size() : end + 1);
      skip_header = end == std::string_view::npos;
    }
    print(text);
    return std::ferror(stdout) == 0;
  });
}

int print_tables(ApiCaller& caller, const std::vector<ApiRequest>& requests, const std::string& title,
                 Row row) {
  const auto timezone = timezone_of(caller);
  if (!timezone) return fail(timezone.error());
  print(title);
  for (const ApiRequest& request : requests)
    if (const auto shown = print_rows(caller, request, row, *timezone); !shown) return fail(shown.error());
  return finish(kExitDone);
}

int print_all(ApiCaller& caller, const std::vector<ApiRequest>& requests, bool csv) {
  for (std::size_t i = 0; i < requests.size(); ++i)
    if (const auto shown = print_raw(caller, requests[i], csv && i > 0); !shown) return fail(shown.error());
  return finish(kExitDone);
}

}  // namespace

int show_history(const HistoryOptions& options) {
  HistoryOptions o = options;
  if (for_people(o) && o.since.empty()) o.since = kTableSince;
  const auto caller = reach_site(o.site);
  if (!caller) return fail(caller.error());
  const auto paths = paths_of(**caller, o);
  if (!paths) return fail(paths.error());
  std::vector<ApiRequest> requests;
  for (const std::string& path : *paths) {
    requests.push_back({"GET", path, query_of(o), ""});
    if (path == "/api/v1/history") requests.back().query["channel"] = o.channel;
  }
  if (for_people(o)) return print_tables(**caller, requests, reading_title(!o.every.empty()), reading_row);
  return print_all(**caller, requests, o.csv || o.excel);
}

int show_runs(const HistoryOptions& o) {
  const auto caller = reach_site(o.site);
  if (!caller) return fail(caller.error());
  std::vector<ApiRequest> requests;
  for (const int zone : o.zones) {
    requests.push_back({"GET", "/api/v1/runs", query_of(o), ""});
    requests.back().query["zone"] = std::to_string(zone);
  }
  if (requests.empty()) requests.push_back({"GET", "/api/v1/runs", query_of(o), ""});
  if (for_people(o)) return print_tables(**caller, requests, run_title(), run_row);
  return print_all(**caller, requests, o.csv || o.excel);
}

int export_history(const ExportOptions& o) {
  const auto caller = reach_site(o.site);
  if (!caller) return fail(caller.error());
  ApiRequest request{"GET", "/api/v1/export", {{"what", o.what}}, ""};
  request.query["format"] = o.site.json ? "jsonl" : o.excel ? "csv-excel" : "csv";
  if (!o.since.empty()) request.query["since"] = o.since;
  if (!o.until.empty()) request.query["until"] = o.until;
  if (!o.out.empty() && o.out != "-" && !std::freopen(o.out.c_str(), "w", stdout))
    return fail({Cause::world, fmt::format("{} cannot be written: {}", o.out, std::strerror(errno))});
  const auto written = print_raw(**caller, request, false);
  return written ? finish(kExitDone) : fail(written.error());
}

}  // namespace coilward
