#include <simdjson.h>

#include <nlohmann/json.hpp>
#include <string>

#include "plugins/decoders/json/json_time.h"
#include "plugins/decoders/number/number_payload.h"
#include "plugins/plugin.hpp"

namespace {

using coilward::plugin::Value;
using coilward::plugin::Values;
using simdjson::dom::element;

constexpr const char* kSchema = R"json([
  {"key": "value", "type": "pointer", "default": "/value", "help": "where the value is"},
  {"key": "time", "type": "pointer", "default": "/time", "help": "where its time is; none there: the arrival"},
  {"key": "unit_pointer", "type": "pointer", "default": "/unit", "help": "where its unit is; none there: the configured one"},
  {"key": "time_unit", "type": "text", "default": "auto", "allowed": ["auto", "s", "ms", "us", "ns"],
   "help": "of a time that is a number since 1970; auto goes by its size"},
  {"key": "numbers_as_text", "type": "boolean", "default": false, "help": "take \"0.231\" in quotes for a number"}
])json";

constexpr std::size_t kKeptPayload = 65536;  // bytes; the parser takes about 14 times as much

class JsonDecoder {
 public:
  JsonDecoder(std::string_view settings, coilward::plugin::Host) {
    const auto json = nlohmann::json::parse(settings);
    value_ = json.at("value").get<std::string>();
    time_ = json.at("time").get<std::string>();
    unit_ = json.at("unit_pointer").get<std::string>();
    time_unit_ = coilward_plugins::time_unit_from(json.at("time_unit").get<std::string>()).value();
    numbers_as_text_ = json.at("numbers_as_text").get<bool>();
  }

  void decode(std::string_view, std::string_view payload, Values& out) {
    element document;
    if (const auto error = parser_.parse(payload.data(), payload.size()).get(document))
      out.refuse(simdjson::error_message(error));
    else
      decode_document(document, out);
    if (payload.size() > kKeptPayload) parser_ = simdjson::dom::parser();
  }

 private:
  void decode_document(const element& document, Values& out) const {
    Value found;
    if (take_value(document, found, out) && take_time(document, found, out) &&
        take_unit(document, found, out))
      out.add(found);
  }

  bool take_value(const element& document, Value& found, Values& out) const {
    element value;
    if (document.at_pointer(value_).get(value)) return say(out, "nothing at the value's pointer " + value_);
    if (!value.get_double().get(found.value)) return true;
    if (bool on = false; !value.get_bool().get(on)) {
      found.value = on;
      found.unit = "boolean";
      return true;
    }
    std::string_view text;
    if (value.get_string().get(text)) return say(out, "the value is null, a list or an object");
    return take_text(text, found, out);
  }

  bool take_text(std::string_view text, Value& found, Values& out) const {
    const auto number = coilward_plugins::parse_number_payload(text);
    if (!number) return say(out, "the value is a text that is neither a number nor on, off, true or false");
    if (!number->word && !numbers_as_text_)
      return say(out, "the value is a number in quotes; numbers_as_text = true would accept it");
    found.value = number->value;
    if (number->word) found.unit = "boolean";
    return true;
  }

  bool take_time(const element& document, Value& found, Values& out) const {
    element time;
    if (document.at_pointer(time_).get(time) || time.is_null()) return true;
    const auto microseconds = coilward_plugins::json_microseconds(time, time_unit_, numbers_as_text_);
    if (!microseconds)
      return say(out, "the time is neither RFC 3339 text with an offset nor a number since 1970");
    found.time_kind = COILWARD_TIME_ABSOLUTE;
    found.time_us = *microseconds;
    return true;
  }

  bool take_unit(const element& document, Value& found, Values& out) const {
    element unit;
    if (document.at_pointer(unit_).get(unit) || unit.is_null()) return true;
    std::string_view text;
    if (unit.get_string().get(text)) return say(out, "the unit is not a text");
    if (!text.empty()) found.unit = text;
    return true;
  }

  static bool say(Values& out, std::string_view why) {
    out.refuse(why);
    return false;
  }

  std::string value_, time_, unit_;
  coilward_plugins::TimeUnit time_unit_ = coilward_plugins::TimeUnit::by_size;
  bool numbers_as_text_ = false;
  simdjson::dom::parser parser_;
};

}  // namespace

COILWARD_DECODER(JsonDecoder, "json", "1.0", kSchema)
