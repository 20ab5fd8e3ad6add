#include "daemon/web/reading_forms.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <nlohmann/json.hpp>

#include "daemon/locate/ladder.h"
#include "daemon/locate/reading_text.h"
#include "daemon/web/html.h"
#include "daemon/web/page_frame.h"
#include "daemon/web/page_parts.h"
#include "daemon/web/site_location.h"

namespace coilward {
namespace {

constexpr std::size_t kLongestBy = 60;
constexpr const char* kUsualSource = "40";  // V, common practice

std::string option_tag(const std::string& value, const std::string& words, bool chosen) {
  return fmt::format("<option value=\"{}\"{}>{}</option>", html(value), chosen ? " selected" : "",
                     html(words));
}

std::string stop_field(const WirePath& path, const std::string& id, const std::string& chosen,
                       bool with_controller) {
  std::string out = fmt::format("<label for=\"at-{0}\">Where</label><select id=\"at-{0}\" name=\"at\">", id);
  for (const Stop& stop : path.stops)
    if (with_controller || stop.name != kControllerName)
      out += option_tag(stop.name, at_text(stop.name), stop.name == chosen);
  return out + "</select>";
}

std::string number_field(const std::string& name, const std::string& words, const std::string& value = {}) {
  return fmt::format(
      "<label for=\"{0}\">{1}</label><input id=\"{0}\" name=\"{0}\" inputmode=\"decimal\" maxlength=\"12\" "
      "autocomplete=\"off\" required{2}>",
      name, words, value.empty() ? "" : fmt::format(" value=\"{}\"", value));
}

std::string choice_field(const std::string& name, const std::string& words,
                         std::initializer_list<std::pair<const char*, const char*>> values,
                         std::string_view chosen) {
  std::string out =
      fmt::format("<label for=\"{0}\">{1}</label><select id=\"{0}\" name=\"{0}\">", name, words);
  for (const auto& [value, text] : values) out += option_tag(value, text, value == chosen);
  return out + "</select>";
}

std::string reading_form(const Call& call, const Finding& finding, const std::string& id,
                         const std::string& words, const std::string& fields, bool open) {
  return fmt::format(
      "<details id=\"enter-{0}\"{1}><summary>{2}</summary><form method=\"post\" "
      "action=\"{3}/test-reading\" class=\"row\">{4}{5}{6}<button>Enter it</button></form></details>\n",
      id, open ? " open" : "", words, finding_path(finding), token_field(call), fields,
      name_field(call, "by-" + id));
}

struct Proposed {
  ReadingKind kind = ReadingKind::volts_on;
  std::string at;
  Toward toward = Toward::valve;
  Conductor conductor = Conductor::zone;
};

Proposed proposed_reading(const Location& location) {
  if (!location.next) return {};
  return {location.next->kind, location.next->at, location.next->toward, location.next->conductor};
}

// "26,1" is "26.1" to many.
Result<Json> number_of_field(const std::string& name, std::string text) {
  std::replace(text.begin(), text.end(), ',', '.');
  if (name == "ohms" && (text == "OL" || text == "ol" || text == "O.L" || text == "0L" || text == "inf"))
    return json_result(kOpenOhms);
  double value = 0;
  const auto end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, value);
  if (read.ec != std::errc() || read.ptr != end)
    return Error{Cause::bad_input,
                 fmt::format("'{}' is no number{}", text, name == "ohms" ? "; for no path write OL" : "")};
  return json_result(value);
}

bool is_number_field(const std::string& name) {
  return name == "volts_on" || name == "ohms" || name == "source_volts" || name == "volts_to_earth";
}

}  // namespace

std::string reading_forms(const Call& call, const Finding& finding, const Location& location) {
  if (!call.visitor.may(Need::technician)) return {};
  const WirePath path = wire_path(call.site.config(), location.zone);
  const Proposed next = proposed_reading(location);
  const auto at = [&](const char* id, bool controller) { return stop_field(path, id, next.at, controller); };
  const auto is = [&](ReadingKind kind) { return location.next && next.kind == kind; };
  return "<h3>Enter what the meter showed</h3>\n" +
         reading_form(call, finding, "volts", "Volts with the zone on",
                      at("volts", true) + number_field("volts_on", "Volts, zone wire to common"),
                      is(ReadingKind::volts_on)) +
         reading_form(
             call, finding, "ohms", "Ohms one way, zone off and opened there",
             at("ohms", true) +
                 choice_field("toward", "Looking toward the",
                              {{"valve", "valve"}, {"controller", "controller"}}, toward_name(next.toward)) +
                 number_field("ohms", "Ohms, or OL"),
             is(ReadingKind::ohms)) +
         reading_form(
             call, finding, "source", "Test source, volts to earth",
             at("source", false) +
                 choice_field("conductor", "The source drives the",
                              {{"zone", "zone wire"}, {"common", "common"}}, conductor_name(next.conductor)) +
                 number_field("source_volts", "Volts of the source", kUsualSource) +
                 number_field("volts_to_earth", "Volts from the wire to an earth stake"),
             is(ReadingKind::source_volts));
}

Result<Json> reading_of_form(const FormFields& fields) {
  Json json = Json::object();
  for (const auto& [name, value] : fields) {
    if (name == "token" || value.empty()) continue;
    if (!is_number_field(name)) {
      json[name] = name == "by" ? short_text(value, kLongestBy) : value;
      continue;
    }
    auto number = number_of_field(name, value);
    if (!number) return number.error();
    json[name] = std::move(*number);
  }
  return json_result(std::move(json));
}

ApiResponse act_test_reading(const Call& call) {
  const auto finding = call.site.finding(call.args[0]);
  if (!finding) return problem(finding.error());
  auto fields = reading_of_form(call.form);
  if (!fields) return problem(fields.error());
  if (call.visitor.is_person()) (*fields)["by"] = call.visitor.name;
  const WirePath path = wire_path(call.site.config(), zone_to_measure(call.site.config(), *finding));
  const auto reading = reading_from_json(*fields, path);
  if (!reading) return problem(reading.error());
  const auto kept = call.site.keep_test_reading(
      finding->id, reading_to_json(*reading).dump(-1, ' ', false, Json::error_handler_t::replace));
  if (!kept) return problem(kept.error());
  ApiResponse response{303, "text/plain; charset=utf-8"};
  response.location = finding_path(*finding) + "?said=measured#measured";
  return response;
}

}  // namespace coilward
