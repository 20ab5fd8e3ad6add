// Where a fault may be, what to measure next, and what was measured: locate, test-reading.
#include <fmt/format.h>

#include <cstdlib>
#include <nlohmann/json.hpp>

#include "daemon/cli/asking.h"
#include "daemon/cli/exit_code.h"
#include "daemon/cli/say.h"
#include "daemon/cli/table.h"
#include "daemon/cli/verbs.h"
#include "daemon/cli/words.h"
#include "daemon/locate/cautions.h"
#include "daemon/locate/ladder.h"

namespace coilward {
namespace {

std::string text_of(const Json& json, const char* key) {
  return json.contains(key) && json[key].is_string() ? json[key].get<std::string>() : std::string();
}

std::string place_words(const Json& place) {
  const std::string kind = text_of(place, "kind"), wire = text_of(place, "conductor");
  if (kind == "segment")
    return fmt::format("{} wire from {} to {}", wire, text_of(place, "from"), text_of(place, "to"));
  if (kind == "splice") return fmt::format("splice of the {} wire at {}", wire, text_of(place, "at"));
  if (kind == "coil") return fmt::format("coil of zone {} at {}", place["zone"].dump(), text_of(place, "at"));
  return "controller: its output, its terminals or what feeds it";
}

std::string at_words(const std::string& at) {
  return at == "controller" || at == "valve" ? "at the " + at : "in box " + at;
}

std::string range_words(const Json& expect, const std::string& unit) {
  const double low = expect["low"].get<double>(), high = expect["high"].get<double>();
  return high >= kOpenOhms ? fmt::format("over {:g} {} (no path)", low, unit)
                           : fmt::format("{:g} to {:g} {}", low, high, unit);
}

// What to do, up to the place: "With zone 4 on, measure the volts between its wire and the common".
std::string reading_sentence(const Json& next) {
  const std::string kind = text_of(next, "reading"), zone = next["zone"].dump(),
                    where = at_words(text_of(next, "at"));
  if (kind == "volts_on")
    return fmt::format(
        "With zone {} on, measure the volts between its wire and the common {}, on the side that "
        "comes from the controller.",
        zone, where);
  if (kind == "ohms")
    return fmt::format(
        "With zone {} off, take its wire and the common apart {} and measure the ohms between "
        "them toward the {}.",
        zone, where, text_of(next, "toward"));
  return fmt::format(
      "With zone {} off, take the {} wire off the controller and drive it with a test source of "
      "40 volts. Measure the volts from that wire to an earth stake {}.",
      zone, text_of(next, "conductor"), where);
}

// Where the fault is when the meter shows this.
std::string meaning(const Json& next, bool before) {
  const std::string kind = text_of(next, "reading"), at = text_of(next, "at");
  const bool from_valve = kind == "ohms" && text_of(next, "toward") == "valve";
  if (at == "controller")
    return before ? "the fault is in the controller" : "the fault is beyond its terminals";
  if (kind == "source_volts")
    return before ? fmt::format("that wire is broken between the controller and {}", at)
                  : fmt::format("that wire is good as far as {}", at);
  if (from_valve)
    return before ? fmt::format("the fault is in the splices at {} or before it", at)
                  : fmt::format("the fault is beyond {}", at);
  return before ? fmt::format("the fault is between the controller and {}", at)
                : fmt::format("the fault is beyond that, splices at {} included", at);
}

std::string next_words(const Json& next) {
  std::string text = fmt::format("\nNext, about {} minutes with the way: {}\n", next["minutes"].dump(),
                                 reading_sentence(next));
  const std::string unit = text_of(next, "reading") == "ohms" ? "ohms" : "volts";
  for (const Json& expect : next["expect"])
    text += fmt::format("  {}: {}\n", range_words(expect, unit), meaning(next, expect["if"] == "before"));
  return text + "Take care: " + text_of(next, "caution") + "\n";
}

Place first_place(const Json& answer) {
  Place place;
  const std::string kind = text_of(answer["places"][0], "kind");
  if (kind == "segment") place.kind = PlaceKind::segment;
  if (kind == "splice") place.kind = PlaceKind::splice;
  if (kind == "coil") place.kind = PlaceKind::coil;
  return place;
}

std::string found_words(const Json& answer) {
  const std::string first = place_words(answer["places"][0]);
  const std::string what = answer["solved"].get<bool>()
                               ? fmt::format("\nFound: {}.\n", first)
                               : "\nNo other reading is worth its while: look after these places, the likely "
                                 "and the quick ones first.\n";
  return what + "Take care: " + mending_caution(first_place(answer)) + "\n";
}

void print_places(const Json& answer) {
  Table table({{"Sure", true}, {"Place"}});
  for (const Json& place : answer["places"])
    if (place["probability"].get<double>() >= 0.005)
      table.add({percent(place["probability"]), place_words(place)});
  if (table.empty()) return say("the fault has no place in the wiring");
  print(table.text());
  print(answer["next"].is_null() ? found_words(answer) : next_words(answer["next"]));
}

std::string fits_words(const Json& reading) {
  if (!reading["counts"].get<bool>()) return "from before the repair";
  return reading["explained"].get<bool>() ? "yes" : "no place explains it";
}

void print_readings(const Json& kept, const std::string& timezone) {
  Table table({{"Measured"}, {"At"}, {"Shown"}, {"By"}, {"Fits"}});
  for (const Json& r : kept["readings"])
    table.add({local_seconds(r["taken"], timezone), text_of(r, "at"), test_reading_words(r),
               text_or_dash(r["by"]), fits_words(r)});
  if (!table.empty()) print("\n" + table.text());
  if (const std::string words = text_of(kept, "words"); !words.empty()) print(words + "\n");
  if (kept["repaired"].is_null()) return;
  const std::string proof = text_of(kept, "proof");
  print(fmt::format("\nSaid to be repaired at {}. {}{}{}\n", local_seconds(kept["repaired"], timezone),
                    kept["proved"].is_null() ? "The next run will prove it or not."
                    : kept["proved"].get<bool>()
                        ? "Runs since then prove it."
                        : "It has run since then, and the finding stands: not repaired, or not proved yet.",
                    proof.empty() ? "" : " ", proof));
}

// "33", "OL": what a meter prints when there is no path.
Result<Json> ohms_member(const std::string& text) {
  if (text == "OL" || text == "ol" || text == "inf") return json_result(kOpenOhms);
  char* end = nullptr;
  const double ohms = std::strtod(text.c_str(), &end);
  if (end != text.c_str() && *end == '\0') return json_result(ohms);
  return Error{Cause::bad_input, fmt::format("--ohms is '{}': allowed is a number of ohms (kilo-ohms times "
                                             "1000), or OL for no path",
                                             text)};
}

Result<Json> reading_body(const TestReadingOptions& o) {
  Json body = {{"at", o.at}, {"by", o.by}};
  const auto number = [&](const char* key, const std::optional<double>& value) {
    if (value) body[key] = *value;
  };
  number("volts_on", o.volts_on);
  number("source_volts", o.source_volts);
  number("volts_to_earth", o.volts_to_earth);
  if (!o.toward.empty()) body["toward"] = o.toward;
  if (!o.conductor.empty()) body["conductor"] = o.conductor;
  if (o.ohms.empty()) return json_result(std::move(body));
  auto ohms = ohms_member(o.ohms);
  if (!ohms) return ohms.error();
  body["ohms"] = *ohms;
  return json_result(std::move(body));
}

std::string finding_path(const std::string& finding) { return "/api/v1/findings/" + finding; }

}  // namespace

int locate(const SiteOptions& options, const std::string& finding) {
  const auto shown = ask(options, finding_path(finding) + "/places");
  if (!shown) return fail(shown.error());
  if (options.json) {
    print_json(shown->answer);
    return kExitDone;
  }
  const auto kept = ask(options, finding_path(finding) + "/test-readings");
  if (!kept) return fail(kept.error());
  print_places(shown->answer);
  print_readings(kept->answer, shown->timezone);
  return kExitDone;
}

int test_reading(const TestReadingOptions& options) {
  const auto body = reading_body(options);
  if (!body) return fail(body.error());
  const auto caller = reach_site(options.site);
  if (!caller) return fail(caller.error());
  const auto answer = (*caller)->post(finding_path(options.finding) + "/test-readings", *body);
  if (!answer) return fail(answer.error());
  if (options.site.json) {
    print_json(*answer);
    return kExitDone;
  }
  const std::string words = text_of(*answer, "words");
  print(words.empty() ? "Kept.\n\n" : "Kept. " + words + "\n\n");
  print_places(*answer);
  return kExitDone;
}

}  // namespace coilward
