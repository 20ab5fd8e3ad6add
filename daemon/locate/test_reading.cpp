#include "daemon/locate/test_reading.h"

#include <fmt/format.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "daemon/locate/ladder.h"

namespace coilward {
namespace {

Error wrong(std::string what) { return {Cause::bad_input, std::move(what)}; }

bool given(const Json& json, const char* key) {
  const auto it = json.find(key);
  return it != json.end() && !it->is_null();
}

Result<double> number_of(const Json& json, const char* key, const char* unit, double low, double high) {
  if (!given(json, key)) return wrong(fmt::format("{} is missing: a number ({})", key, unit));
  const Json& found = json.at(key);
  const double value = found.is_number() ? found.get<double>() : NAN;
  if (std::isfinite(value) && value >= low && value <= high) return value;
  return wrong(fmt::format("{} is {}: allowed is a number from {:g} to {:g} ({})", key, found.dump(), low,
                           high, unit));
}

Result<std::string> word_of(const Json& json, const char* key, std::string_view one, std::string_view other) {
  const std::string found = given(json, key) && json.at(key).is_string() ? json.at(key) : Json("");
  if (found == one || found == other) return found;
  return wrong(fmt::format("{} is {}: allowed are {} and {}", key,
                           given(json, key) ? json.at(key).dump() : "missing", one, other));
}

Result<TestReading> read_volts(const Json& json, TestReading reading) {
  const auto volts = number_of(json, "volts_on", "V", 0, kMostVolts);
  if (!volts && given(json, "volts_on") && json.at("volts_on").is_number() &&
      json.at("volts_on").get<double>() > kMostVolts)
    return wrong(
        fmt::format("volts_on is {}: more than {:g} V is not on a valve circuit. Is it millivolts? If "
                    "the meter did show it, stop: it may be the mains, which is for a licensed electrician",
                    json.at("volts_on").dump(), kMostVolts));
  if (!volts) return volts.error();
  reading.value = *volts;
  return reading;
}

Result<TestReading> read_ohms(const Json& json, TestReading reading) {
  const auto ohms = number_of(json, "ohms", "ohm; 1e9 for no path, OL", 0, kOpenOhms);
  if (!ohms) return ohms.error();
  const auto toward = word_of(json, "toward", "valve", "controller");
  if (!toward) return toward.error();
  reading.kind = ReadingKind::ohms;
  reading.value = *ohms;
  reading.toward = *toward == "valve" ? Toward::valve : Toward::controller;
  return reading;
}

Result<TestReading> read_source(const Json& json, TestReading reading) {
  const auto source = number_of(json, "source_volts", "V", kLeastSourceVolts, kMostSourceVolts);
  if (!source) return source.error();
  const auto conductor = word_of(json, "conductor", "zone", "common");
  if (!conductor) return conductor.error();
  // A meter's tolerance above the source itself is all that can be.
  const auto volts = number_of(json, "volts_to_earth", "V", 0, 1.1 * *source);
  if (!volts) return volts.error();
  reading.kind = ReadingKind::source_volts;
  reading.value = *volts;
  reading.source_volts = *source;
  reading.conductor = *conductor == "zone" ? Conductor::zone : Conductor::common;
  return reading;
}

std::string stops_text(const WirePath& path) {
  std::string text;
  for (const Stop& stop : path.stops) text += (text.empty() ? "" : ", ") + stop.name;
  return text;
}

// Members of a form without the form itself are a slip worth telling.
std::optional<Error> stray(const Json& json, const char* form, std::initializer_list<const char*> members) {
  if (given(json, form)) return std::nullopt;
  for (const char* member : members)
    if (given(json, member)) return wrong(fmt::format("{} goes with {}, which is missing", member, form));
  return std::nullopt;
}

Result<TestReading> read_form(const Json& json, TestReading reading) {
  if (const auto error = stray(json, "ohms", {"toward"})) return *error;
  if (const auto error = stray(json, "source_volts", {"volts_to_earth", "conductor"})) return *error;
  const int forms = given(json, "volts_on") + given(json, "ohms") + given(json, "source_volts");
  if (forms != 1)
    return wrong(
        "give one reading: volts_on, or ohms with toward, or source_volts with volts_to_earth and "
        "conductor");
  if (given(json, "volts_on")) return read_volts(json, std::move(reading));
  return given(json, "ohms") ? read_ohms(json, std::move(reading)) : read_source(json, std::move(reading));
}

std::string text_member(const Json& json, const char* key) {
  return given(json, key) && json.at(key).is_string() ? json.at(key).get<std::string>() : std::string();
}

}  // namespace

Result<TestReading> reading_from_json(const Json& json, const WirePath& path) {
  TestReading reading;
  reading.zone = path.zone;
  reading.at = text_member(json, "at");
  reading.by = text_member(json, "by");
  const int stop = path.stop_named(reading.at);
  if (stop < 0)
    return wrong(fmt::format("at is \"{}\": the wire of zone {} comes by {}", reading.at, path.zone,
                             stops_text(path)));
  auto read = read_form(json, std::move(reading));
  if (read && read->kind == ReadingKind::source_volts && stop == 0)
    return wrong("at is controller, where the test source is: measure it at a box along the wire");
  return read;
}

Json reading_to_json(const TestReading& r) {
  Json json = {{"zone", r.zone}, {"at", r.at}};
  if (r.kind == ReadingKind::volts_on) json["volts_on"] = r.value;
  if (r.kind == ReadingKind::ohms) {
    json["ohms"] = r.value;
    json["toward"] = toward_name(r.toward);
  }
  if (r.kind == ReadingKind::source_volts) {
    json["source_volts"] = r.source_volts;
    json["volts_to_earth"] = r.value;
    json["conductor"] = conductor_name(r.conductor);
  }
  json["by"] = r.by;
  return json;
}

Result<TestReading> reading_from_text(const std::string& text, UtcTime taken) {
  const Json json = Json::parse(text, nullptr, false);
  if (!json.is_object() || !given(json, "zone") || !json.at("zone").is_number_integer())
    return wrong("not a test reading: " + text.substr(0, 80));
  TestReading reading;
  reading.zone = json.at("zone").get<int>();
  reading.at = text_member(json, "at");
  reading.by = text_member(json, "by");
  reading.taken = taken;
  return read_form(json, std::move(reading));
}

std::string reading_words(const TestReading& r) {
  if (r.kind == ReadingKind::volts_on)
    return fmt::format("{:g} V with zone {} on at {}", r.value, r.zone, r.at);
  if (r.kind == ReadingKind::ohms) {
    const std::string ohms = r.value >= kOpenOhms ? "no path" : fmt::format("{:g} ohms", r.value);
    return fmt::format("{} toward the {} at {}", ohms, toward_name(r.toward), r.at);
  }
  return fmt::format("{:g} V to earth at {} from {:g} V on the {} wire", r.value, r.at, r.source_volts,
                     conductor_name(r.conductor));
}

std::string_view reading_kind_name(ReadingKind kind) {
  return kind == ReadingKind::volts_on ? "volts_on" : kind == ReadingKind::ohms ? "ohms" : "source_volts";
}
std::string_view conductor_name(Conductor conductor) {
  return conductor == Conductor::zone ? "zone" : "common";
}
std::string_view toward_name(Toward toward) { return toward == Toward::valve ? "valve" : "controller"; }

}  // namespace coilward
