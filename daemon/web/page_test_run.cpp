// Asking the controller to switch a zone on for a test: a page of its own that says what to mind and wants a
// word that it was read; what the form does; and what the page in hand shows of a test under way.
#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "daemon/web/html.h"
#include "daemon/web/page_frame.h"
#include "daemon/web/page_parts.h"
#include "daemon/web/query.h"

namespace coilward {
namespace {

constexpr std::size_t kMostTestsShown = 10;

Error not_allowed() {
  return {Cause::conflict,
          "switching on for a test is not allowed here: it needs allow = true in [test_run] of the "
          "configuration, and a controller that takes such requests"};
}

Result<int> zone_to_test(const Call& call) {
  const auto number = parse_number(call.args[0], 0, kMaxZone, "zone");
  if (!number) return number.error();
  if (!call.site.config().zone(*number))
    return Error{Cause::not_found, fmt::format("the site has no zone {}", *number)};
  if (!call.site.test_runs_allowed()) return not_allowed();
  if (*number == kMasterZone)
    return Error{Cause::conflict,
                 "the master output is not switched on by itself: a pump would run against closed valves"};
  return *number;
}

std::string cautions_part() {
  return "<div class=\"care\"><p><strong>Before you ask</strong></p>\n<ul>\n"
         "<li>Water will run. Look that nobody is at the heads, and no traffic where they throw.</li>\n"
         "<li>Nobody has a hand in a wet box or on a bare wire of this site. Switch off before a splice is "
         "touched.</li>\n"
         "<li>After a short do not switch on again and again: wires and transformer may overheat.</li>\n"
         "<li>The mains side of the transformer is for a licensed electrician.</li>\n"
         "<li>coilward only asks. Whoever stands at the controller, and the controller itself, may do "
         "otherwise.</li>\n</ul></div>\n";
}

std::string minutes_field() {
  std::string out = "<label for=\"seconds\">For at most</label><select id=\"seconds\" name=\"seconds\">";
  for (const int minutes : {1, 2, 5, 10})
    out += fmt::format("<option value=\"{}\"{}>{} minute{}</option>", 60 * minutes,
                       60 * minutes == kTestRunSeconds ? " selected" : "", minutes, minutes == 1 ? "" : "s");
  return out + "</select>";
}

std::string confirm_form(const Call& call, int zone) {
  return fmt::format(
      "<form method=\"post\" action=\"{}/test-run\" class=\"row\">{}{}{}"
      "<p><label class=\"tick\"><input type=\"checkbox\" name=\"confirm\" value=\"yes\" required> I have "
      "looked: nobody can be hurt by water or wires.</label></p>"
      "<button>Ask the controller to switch zone {} on</button></form>\n",
      zone_path(zone), token_field(call), minutes_field(), name_field(call, "by"), zone_label(zone));
}

std::string end_form(const Call& call, int zone) {
  return fmt::format(
      "<form method=\"post\" action=\"{}/test-run/end\" class=\"row\">{}<button>Ask the controller to switch "
      "zone {} off</button></form>\n",
      zone_path(zone), token_field(call), zone_label(zone));
}

std::string ask_link(int zone) {
  return fmt::format(
      "<p class=\"links\"><a class=\"strong\" href=\"{}/test-run\">Ask the controller to switch it on for a "
      "test</a></p>\n",
      zone_path(zone));
}

std::string earlier_part(const Call& call, int zone) {
  std::string rows;
  std::size_t shown = 0;
  for (const TestRun& run : call.site.test_runs())
    if (run.zone == zone && shown++ < kMostTestsShown)
      rows += fmt::format("<tr><th scope=\"row\">{}</th><td class=\"n\">{}</td><td>{}</td><td>{}</td></tr>\n",
                          short_time_tag(run.asked, call.site.now(), call.site.config()),
                          span_text(std::chrono::seconds{run.seconds}), html(run.who),
                          run.heard == kNever ? "nothing was heard" : "it was seen on");
  if (rows.empty()) return {};
  return "<section><h2>Asked before</h2>\n<table><thead><tr><th scope=\"col\">When</th><th scope=\"col\" "
         "class=\"n\">For</th><th scope=\"col\">By</th><th scope=\"col\">Then</th></tr></thead><tbody>\n" +
         rows + "</tbody></table></section>\n";
}

std::string who_of(const Call& call) {
  const std::string by = acting(call.visitor, call.field("by"));
  return by.empty() ? "someone at the page" : short_text(by, 60);
}

ApiResponse to_live_page(int zone, std::string_view said) {
  ApiResponse response{303, "text/plain; charset=utf-8"};
  response.location = fmt::format("{}/live?said={}", zone_path(zone), said);
  return response;
}

// A whole number of seconds; what is not given is the usual length.
Result<int> test_seconds(const Call& call) {
  const std::string seconds = call.field("seconds");
  if (seconds.empty()) return kTestRunSeconds;
  return parse_number(seconds, kLeastTestRunSeconds, kMostTestRunSeconds, "seconds");
}

}  // namespace

std::string test_run_part(const Call& call, int zone) {
  if (!call.site.test_runs_allowed() || zone == kMasterZone || !call.visitor.may(Need::technician)) return {};
  const UtcTime now = call.site.now();
  for (const TestRun& run : call.site.test_runs())
    if (run.zone == zone && is_shown(run, now))
      return fmt::format("<div class=\"tested\"><p class=\"strong\" data-now=\"test\">{}</p>\n{}</div>\n",
                         html(test_run_words(run, now)),
                         stage_of(run, now) == TestRunStage::over ? ask_link(zone) : end_form(call, zone));
  return ask_link(zone);
}

ApiResponse get_test_run_page(const Call& call) {
  const auto zone = zone_to_test(call);
  if (!zone) return problem(zone.error());
  const std::string name = zone_heading(*zone, call.site.config().zone(*zone)->name);
  PageParts parts{"Switch on for a test",
                  fmt::format("<p class=\"kicker\">{}</p>\n<h1>Switch it on for a test</h1>\n{}{}<p "
                              "class=\"links\"><a href=\"{}/live\">Not now</a></p>\n{}",
                              html(name), cautions_part(), confirm_form(call, *zone), zone_path(*zone),
                              earlier_part(call, *zone))};
  return page_response(call, parts);
}

ApiResponse act_test_run(const Call& call) {
  const auto zone = zone_to_test(call);
  if (!zone) return problem(zone.error());
  if (call.field("confirm") != "yes")
    return problem({Cause::bad_input, "not asked: the tick that it is safe is missing"});
  const auto seconds = test_seconds(call);
  if (!seconds) return problem(seconds.error());
  const auto asked = call.site.ask_test_run(*zone, *seconds, who_of(call));
  return asked ? to_live_page(*zone, "asked") : problem(asked.error());
}

ApiResponse act_test_run_end(const Call& call) {
  const auto zone = zone_to_test(call);
  if (!zone) return problem(zone.error());
  const auto asked = call.site.end_test_run(*zone, who_of(call));
  return asked ? to_live_page(*zone, "end-asked") : problem(asked.error());
}

ApiResponse get_test_runs(const Call& call) {
  Json list = Json::array();
  for (const TestRun& run : call.site.test_runs()) {
    Json json = test_run_to_json(run);
    json["stage"] = stage_name(stage_of(run, call.site.now()));
    list.push_back(std::move(json));
  }
  return json_response({{"test_runs", list}});
}

}  // namespace coilward
