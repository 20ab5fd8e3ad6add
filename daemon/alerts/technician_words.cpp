#include <fmt/format.h>

#include <cmath>
#include <string_view>

#include "daemon/alerts/alert_case.h"
#include "daemon/alerts/audience_words.h"
#include "daemon/alerts/fault_words.h"
#include "daemon/alerts/site_time.h"
#include "daemon/alerts/sparkline.h"

namespace coilward {
namespace {

constexpr std::size_t kMostDetailed = 3;  // findings with all their details; the others in one line
constexpr double kWorthNaming = 0.05;     // alternatives and places below this are left out

// What the lines of one message have in common.
struct Talk {
  const Words& words;
  const Config& config;
  std::string at(UtcTime time) const { return site_date_time(time, config.site.timezone, words); }
};

std::string with_opening(const Telling& telling, AlertKind kind, const std::string& line, const Talk& talk) {
  const bool news = kind == AlertKind::worse;
  const char* key = news && not_repaired(telling.finding) ? "technician.not_repaired"
                    : news && telling.worse               ? "technician.worse"
                    : news                                ? "technician.renamed"
                    : telling.comes_and_goes              ? "technician.comes_and_goes"
                    : kind == AlertKind::repeat           ? "technician.repeat"
                                                          : nullptr;
  return key ? talk.words.say(key, {{"line", line}}) : line;
}

std::string ending(const Finding& f, const Talk& talk) {
  const bool about_site = f.fault == Fault::supply_low || f.fault == Fault::supply_lost || f.zones.empty();
  const auto who =
      about_site ? talk.words.text("zones.site") : zones_in_words(f.zones, talk.config, talk.words);
  const char* key = repair_proved(f) && f.zones.size() > 1 ? "technician.repaired_several"
                    : repair_proved(f)                     ? "technician.repaired"
                    : withdrawn(f)                         ? "technician.taken_back"
                                                           : "technician.over";
  return talk.words.say(key, {{"who", who}, {"phrase", std::string(fault_phrase(f.fault, talk.words))}});
}

std::string first_line(const Telling& telling, AlertKind kind, const Talk& talk) {
  if (kind == AlertKind::closed) return ending(telling.finding, talk);
  return with_opening(telling, kind, headline(telling.finding, talk.config, talk.words), talk);
}

std::string place_name(const std::string& place, const Talk& talk) {
  return place == "controller" ? talk.words.text("technician.controller")
                               : talk.words.say("technician.box", {{"box", one_line(place, 60)}});
}

std::string where_line(const Finding& f, const Talk& talk) {
  std::string places;
  for (const auto& w : f.where) {
    if (w.probability < kWorthNaming && &w != &f.where.front()) break;
    places += places.empty() ? "" : "; ";
    places += talk.words.say("technician.stretch", {{"from", place_name(w.from, talk)},
                                                    {"to", place_name(w.to, talk)},
                                                    {"sure", std::to_string(in_hundred(w.probability))}});
  }
  return places.empty() ? places : talk.words.say("technician.where", {{"places", places}}) + "\n";
}

// As a clamp meter shows it: currents to the milliampere, which is as fine as sensors are.
std::string amount(double value, const std::string& unit) {
  return unit == "A" ? fmt::format("{:.3f}", std::abs(value) < 0.0005 ? 0.0 : value)
                     : fmt::format("{:.3g}", value);
}

std::string measured_line(const Finding& f, const Talk& talk) {
  for (const auto& e : f.evidence)
    if (measured(e.observed) && measured(e.low) && measured(e.high))
      return talk.words.say("technician.measured", {{"observed", amount(e.observed, e.unit)},
                                                    {"unit", e.unit},
                                                    {"channel", e.channel},
                                                    {"low", amount(e.low, e.unit)},
                                                    {"high", amount(e.high, e.unit)}}) +
             "\n";
  return {};
}

std::string draw_line(const Alert& alert, const Finding& f, const Talk& talk) {
  if (alert.draws.empty() || f.zones.empty() || alert.draws.front().zone != f.zones.front()) return {};
  const AlertDraw& draw = alert.draws.front();
  if (draw.amps.size() < kFewestRuns) return {};
  return talk.words.say("technician.draw", {{"runs", std::to_string(draw.amps.size())},
                                            {"line", sparkline_text(draw)},
                                            {"first", amount(draw.amps.front(), "A")},
                                            {"last", amount(draw.amps.back(), "A")}}) +
         "\n";
}

std::string forecast_line(const Finding& f, const Talk& talk) {
  if (!f.forecast) return {};
  const auto day = [&](UtcTime time) { return site_day(time, talk.config.site.timezone, talk.words); };
  const LiftForecast& forecast = *f.forecast;
  std::string text =
      talk.words.say(f.zones.size() > 1 ? "technician.forecast_first" : "technician.forecast",
                     {{"zone", talk.words.say("next.zone", {{"number", std::to_string(forecast.zone)}})},
                      {"likely", day(forecast.lift.likely)},
                      {"low", day(forecast.lift.low)},
                      {"high", day(forecast.lift.high)},
                      {"share", std::to_string(std::lround(100 * forecast.share_now))}});
  if (forecast.hold)
    text += talk.words.say("technician.forecast_hold", {{"likely", day(forecast.hold->likely)}});
  return text + "\n";
}

std::string other_causes_line(const Finding& f, const Talk& talk) {
  std::string causes;
  for (const auto& other : f.alternatives)
    if (other.probability >= kWorthNaming)
      causes +=
          (causes.empty() ? "" : "; ") +
          talk.words.say("technician.cause", {{"phrase", std::string(fault_phrase(other.fault, talk.words))},
                                              {"sure", std::to_string(in_hundred(other.probability))}});
  return causes.empty() ? causes : talk.words.say("technician.other_causes", {{"causes", causes}}) + "\n";
}

std::string time_line(const Telling& telling, const Talk& talk) {
  const auto& f = telling.finding;
  std::string text = talk.words.say("technician.since", {{"time", talk.at(f.opened)}});
  if (telling.comes_and_goes)
    text += talk.words.say("technician.times", {{"times", std::to_string(telling.times)}});
  return text + talk.words.say("technician.sure", {{"sure", std::to_string(in_hundred(f.probability))}}) +
         "\n";
}

// The diagnosis sums up in English; what it says in figures is in the other lines too.
std::string summary_line(const Finding& f, const Talk& talk) {
  if (f.summary.empty() || talk.words.language() != Language::english) return {};
  return one_line(f.summary, 600) + "\n";
}

std::string open_details(const Telling& telling, const Alert& alert, const Talk& talk) {
  const auto& f = telling.finding;
  const auto& words = talk.words;
  std::string text = time_line(telling, talk) + where_line(f, talk) + measured_line(f, talk) +
                     draw_line(alert, f, talk) + forecast_line(f, talk) + other_causes_line(f, talk) +
                     summary_line(f, talk);
  text += "\n" + words.say("technician.next", {{"next", next_reading(f, talk.config, words)}}) + "\n";
  if (const auto care = cautions(f.fault, words); !care.empty())
    text += words.say("technician.care", {{"care", care}}) + "\n";
  if (telling.comes_and_goes) text += "\n" + words.text("technician.quiet") + "\n";
  return text + "\n" + words.say("technician.acknowledge", {{"id", f.id}}) + "\n";
}

// Known reasons in the reader's language; others as the diagnosis said them, in English only.
std::string reason(const Finding& f, const Words& words) {
  const Words& english = Words::in(Language::english);
  for (const char* key : {"reason.draws_normally", "reason.repaired"})
    if (f.close_reason == english.text(key)) return words.text(key);
  if (words.language() == Language::english) return one_line(f.close_reason, 600);
  return repair_proved(f) ? words.text("reason.repaired") : std::string();
}

std::string closed_details(const Finding& f, const Talk& talk) {
  std::string text =
      talk.words.say("technician.began_ended", {{"began", talk.at(f.opened)}, {"ended", talk.at(f.closed)}}) +
      "\n";
  const std::string why = withdrawn(f) ? std::string() : reason(f, talk.words);
  return why.empty() ? text : text + talk.words.say("technician.why", {{"why", why}}) + "\n";
}

std::string section(const Telling& telling, const Alert& alert, bool detailed, const Talk& talk) {
  std::string text = first_line(telling, alert.kind, talk) + "\n";
  if (!detailed) return text;
  return text + (alert.kind == AlertKind::closed ? closed_details(telling.finding, talk)
                                                 : open_details(telling, alert, talk));
}

std::string subject_of(const std::vector<Telling>& tellings, AlertKind kind, const Talk& talk) {
  std::string text = first_line(tellings.front(), kind, talk);
  if (text.ends_with('.')) text.pop_back();
  if (tellings.size() > 1)
    text += talk.words.say("list.more", {{"count", std::to_string(tellings.size() - 1)}});
  return one_line(talk.words.say("technician.subject", {{"site", talk.config.site.name}, {"line", text}}),
                  kLongestSubject);
}

}  // namespace

Spoken technician_words(const std::vector<Telling>& tellings, const Alert& alert, const Listener& listener,
                        const Config& config) {
  const Talk talk{Words::in(listener.language), config};
  Spoken said{subject_of(tellings, alert.kind, talk), {}};
  if (listener.unanswered_h > 0)
    said.text =
        talk.words.say("technician.nobody_answers", {{"hours", fmt::format("{:g}", listener.unanswered_h)}}) +
        "\n\n";
  for (std::size_t i = 0; i < tellings.size(); ++i) {
    if (i > 0) said.text += i < kMostDetailed ? "\n----\n\n" : "\n";
    said.text += section(tellings[i], alert, i < kMostDetailed, talk);
  }
  if (tellings.size() > kMostDetailed) said.text += "\n" + talk.words.text("technician.all_details") + "\n";
  return said;
}

}  // namespace coilward
