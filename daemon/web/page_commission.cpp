// The walk through a new site on the page, for a phone at the controller: one question at a time, what the
// sensors show beside it, and at the end the configuration to take along. It is the walk of `coilward
// commission`.
#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "daemon/web/commission_routes.h"
#include "daemon/web/html.h"
#include "daemon/web/page_frame.h"
#include "daemon/web/page_words.h"
#include "daemon/web/query.h"

namespace coilward {
namespace {

constexpr int kLookRefreshSeconds = 2;  // where there is no script
constexpr std::size_t kSaidShown = 12;

constexpr std::pair<std::string_view, std::string_view> kChoiceWords[] = {
    {"yes", "Yes"},
    {"no", "No"},
    {"again", "Look again"},
    {"map", "Map it in the configuration"},
    {"keep", "Keep it as it is"},
    {"leave", "Leave it out"},
    {"skip", "Leave this zone out"},
};

std::string choice_words(std::string_view choice) {
  for (const auto& [name, words] : kChoiceWords)
    if (name == choice) return std::string(words);
  return std::string(choice);
}

std::string walk_form(const Call& call, const char* action, const std::string& inside) {
  return fmt::format("<form method=\"post\" action=\"/commission/{}\" class=\"row\">{}{}</form>\n", action,
                     token_field(call), inside);
}

std::string choice_button(std::string_view value, const std::string& words) {
  return fmt::format("<button name=\"answer\" value=\"{}\">{}</button>", html(value), html(words));
}

// What a question is answered with.
std::string answer_controls(const Question& q) {
  std::string out;
  switch (q.kind) {
    case Question::Kind::done:
      out = choice_button("done", "Done");
      for (const std::string& choice : q.choices) out += choice_button(choice, choice_words(choice));
      return out;
    case Question::Kind::choice:
      for (const std::string& choice : q.choices) out += choice_button(choice, choice_words(choice));
      return out;
    default:
      return fmt::format(
          "<input id=\"answer\" name=\"answer\" value=\"{}\" maxlength=\"200\" "
          "autocomplete=\"off\"{}><button>Go "
          "on</button>",
          html(q.otherwise), q.kind == Question::Kind::number ? " inputmode=\"decimal\"" : "");
  }
}

std::string question_part(const Call& call, const WalkView& walk) {
  if (!walk.question)
    return "<section class=\"next\"><h2>Looking at the sensors</h2>\n<p>This takes up to a minute. The page "
           "goes on "
           "by itself.</p></section>\n";
  const Question& q = *walk.question;
  const bool typed = q.kind == Question::Kind::text || q.kind == Question::Kind::number;
  const std::string text = typed ? fmt::format("<label for=\"answer\">{}</label>", html(q.text))
                                 : fmt::format("<p class=\"strong\">{}</p>", html(q.text));
  return "<section class=\"next\"><h2>Next</h2>\n" +
         walk_form(call, "answer",
                   fmt::format("<input type=\"hidden\" name=\"step\" value=\"{}\">{}{}", walk.step, text,
                               answer_controls(q))) +
         "</section>\n";
}

std::string said_list(const WalkView& walk) {
  std::string out;
  const std::size_t from = walk.said.size() > kSaidShown ? walk.said.size() - kSaidShown : 0;
  for (std::size_t i = from; i < walk.said.size(); ++i)
    out += fmt::format("<li{}>{}</li>\n", i + 1 == walk.said.size() ? " class=\"strong\"" : "",
                       html(walk.said[i]));
  return out.empty() ? out : "<section><h2>So far</h2>\n<ul>\n" + out + "</ul></section>\n";
}

// Kept up to date by the script that every page has.
std::string live_table(const Call& call) {
  const SiteView view = view_of(call.site);
  std::string rows;
  for (const ZoneState& zone : view.zones) {
    const ZoneWords words = zone_words(zone, view);
    rows += fmt::format(
        "<tr data-zone=\"{}\"><th scope=\"row\">{}</th><td class=\"n\"><span data-field=\"amps\">{}</span> "
        "<span "
        "class=\"soft\" data-field=\"when\">{}</span></td></tr>\n",
        zone.number, html(zone_heading(zone.number, zone.name)), amps_text(words.amps), words.when);
  }
  return "<section><h2>What the sensors show</h2>\n<table><thead><tr><th scope=\"col\">Zone</th><th "
         "scope=\"col\" "
         "class=\"n\">Draws</th></tr></thead><tbody>\n" +
         rows + "</tbody></table></section>\n";
}

std::string intro_part(const Call& call) {
  return "<h1>A new site, zone by zone</h1>\n<p>For whoever stands at the controller: name the boxes and the "
         "lengths of "
         "wire, then switch each zone on once. It says which sensor moved, whether two are swapped or one "
         "gives "
         "another unit, and whether the coil is plausible. At the end it shows a configuration; it changes "
         "none by "
         "itself.</p>\n<p class=\"care\"><strong>Take care.</strong> The 24 volt side is limited in power. "
         "The mains "
         "side of the transformer is for a licensed electrician. Switch a zone off before you reach into a "
         "wet box. "
         "Follow the local codes.</p>\n" +
         walk_form(call, "begin", "<button>Begin</button>");
}

std::string result_part(const Call& call, const WalkView& walk) {
  if (!walk.trouble.empty())
    return fmt::format("<section class=\"next\"><h2>It ended without a result</h2>\n<p>{}</p></section>\n",
                       html(walk.trouble));
  const std::string file =
      call.site.config().file.empty() ? "the daemon's configuration" : call.site.config().file;
  return fmt::format(
      "<section class=\"next\"><h2>The configuration</h2>\n<p>It is checked, and only shown: {0} is as it "
      "was. To use "
      "it:</p>\n<ol><li><a href=\"/commission/site.toml\">Save it as a file</a>.</li><li>Look through it, "
      "above all at "
      "what stands behind a #.</li><li>On the daemon's machine, keep the old one and put the new one in its "
      "place: "
      "<kbd>cp {0} {0}.before</kbd>, then <kbd>cp site.toml {0}</kbd>.</li><li><kbd>coilward check-config "
      "{0}</kbd>, "
      "then <kbd>systemctl reload coilwardd</kbd>.</li></ol>\n<pre class=\"file\" tabindex=\"0\" "
      "role=\"region\" "
      "aria-label=\"The configuration\">{1}</pre></section>\n",
      html(file), html_lines(walk.toml));
}

std::string walk_part(const Call& call, const WalkView& walk) {
  std::string out = "<h1>A new site, zone by zone</h1>\n";
  out += walk.over ? result_part(call, walk) : question_part(call, walk);
  out += said_list(walk);
  if (!walk.over) out += live_table(call);
  out += walk_form(call, walk.over ? "begin" : "end",
                   walk.over ? "<button>Begin anew</button>" : "<button>End it without a result</button>");
  return out + "<p class=\"soft\">What was answered lasts until the daemon stops.</p>\n";
}

CommissionDesk* desk_of(const Call& call) { return call.site.commission_desk(); }
Error no_desk() { return {Cause::conflict, "the walk needs the running daemon; or: coilward commission"}; }

ApiResponse back_to_walk() {
  ApiResponse response{303, "text/plain; charset=utf-8"};
  response.location = "/commission";
  return response;
}

}  // namespace

ApiResponse get_commission_page(const Call& call) {
  CommissionDesk* desk = desk_of(call);
  if (!desk) return problem(no_desk());
  const WalkView* walk = desk->view();
  PageParts parts{"A new site", walk ? walk_part(call, *walk) : intro_part(call)};
  if (walk && !walk->over && !walk->question) parts.refresh_s = kLookRefreshSeconds;
  return page_response(call, parts);
}

ApiResponse get_commission_file(const Call& call) {
  CommissionDesk* desk = desk_of(call);
  const WalkView* walk = desk ? desk->view() : nullptr;
  if (!walk || walk->toml.empty()) return problem({Cause::not_found, "no walk has come to its end"});
  ApiResponse response{200, "application/toml; charset=utf-8", walk->toml};
  response.file_name = "site.toml";
  return response;
}

ApiResponse act_commission_begin(const Call& call) {
  CommissionDesk* desk = desk_of(call);
  if (!desk) return problem(no_desk());
  const auto begun = desk->begin();
  return begun ? back_to_walk() : problem(begun.error());
}

// Shown again once the walk has gone on, so that the next question is there.
void act_commission_answer(const Call& call, Respond respond) {
  const auto field = [&](const char* name) {
    const auto it = call.form.find(name);
    return it == call.form.end() ? std::string() : it->second;
  };
  CommissionDesk* desk = desk_of(call);
  if (!desk) return respond(problem_page(call, problem(no_desk())));
  const auto step = parse_number(field("step"), 0, 1'000'000, "step");
  if (!step) return respond(problem_page(call, problem(step.error())));
  const auto taken = desk->answer(*step, field("answer"), [respond] { respond(back_to_walk()); });
  if (!taken) respond(back_to_walk());  // a second press: what is asked by now is shown
}

ApiResponse act_commission_end(const Call& call) {
  CommissionDesk* desk = desk_of(call);
  if (!desk) return problem(no_desk());
  desk->end();
  return back_to_walk();
}

}  // namespace coilward
