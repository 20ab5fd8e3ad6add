#include "daemon/cli/command_setup.h"

namespace coilward {
namespace {

constexpr const char* kTimes =
    "Times: 2026-05-04T06:12:09Z (any offset), 2026-05-04 (midnight at the site), now, or 7d, 12h, 30m ago.";

void add_span(CLI::App* verb, std::string& since, std::string& until) {
  verb->add_option("--since", since, "from this time on")->type_name("TIME");
  verb->add_option("--until", until, "before this time")->type_name("TIME");
  verb->footer(kTimes);
}

void add_forms(CLI::App* verb, HistoryOptions& o) {
  verb->add_option("--zone", o.zones, "zone number, more than once for several; 0 is the master output")
      ->type_name("N")
      ->check(CLI::Range(0, kMaxZone));
  auto* csv = verb->add_flag("--csv", o.csv, "as CSV (RFC 4180)");
  auto* excel =
      verb->add_flag("--excel", o.excel, "as CSV with byte-order mark, semicolons and decimal commas");
  csv->excludes(excel)->excludes(verb->get_option("--json"));
  excel->excludes(verb->get_option("--json"));
}

}  // namespace

void add_history_verbs(CLI::App& app, Action& action) {
  auto history = std::make_shared<HistoryOptions>();
  CLI::App* verb =
      add_verb(app, action, "history", "recorded current: a table, CSV or JSON", history, show_history);
  add_site_options(verb, history->site);
  add_forms(verb, *history);
  verb->add_option("--channel", history->channel, "another channel: supply/voltage, zone/4/voltage")
      ->excludes(verb->get_option("--zone"));
  verb->add_option("--every", history->every, "thin to steps of this length: 30s, 5m, 1h, 1d")
      ->type_name("LENGTH");
  add_span(verb, history->since, history->until);
  verb->get_option("--since")->description(
      "from this time on; a table begins 24h ago if left out, CSV and JSON at the first");

  auto runs = std::make_shared<HistoryOptions>();
  verb = add_verb(app, action, "runs", "runs as summaries: when, how long, what they drew", runs, show_runs);
  add_site_options(verb, runs->site);
  add_forms(verb, *runs);
  add_span(verb, runs->since, runs->until);

  auto ask = std::make_shared<ExportOptions>();
  verb = add_verb(app, action, "export", "history out as CSV or JSON", ask, export_history);
  add_site_options(verb, ask->site);
  verb->add_option("--what", ask->what, "readings, runs or findings (default readings)")
      ->check(CLI::IsMember({"readings", "runs", "findings"}));
  verb->add_flag("--csv")
      ->description("as CSV (RFC 4180): the default")
      ->excludes(verb->get_option("--json"));
  verb->add_flag("--excel", ask->excel, "as CSV with byte-order mark, semicolons and decimal commas")
      ->excludes(verb->get_option("--json"))
      ->excludes(verb->get_option("--csv"));
  verb->add_option("--out", ask->out, "file to write instead of standard output")->type_name("FILE");
  add_span(verb, ask->since, ask->until);
}

}  // namespace coilward
