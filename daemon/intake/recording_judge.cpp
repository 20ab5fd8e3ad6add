#include "daemon/intake/recording_judge.h"

#include <simdjson.h>

#include <utility>

namespace coilward {
namespace {

namespace ondemand = simdjson::ondemand;

bool truth_of(ondemand::value value) {
  bool yes = false;
  std::int64_t number = 0;
  if (value.get_bool().get(yes) == simdjson::SUCCESS) return yes;
  return value.get_int64().get(number) == simdjson::SUCCESS && number != 0;
}

simdjson::error_code read_payload(ondemand::value value, RecordedFields& fields) {
  ondemand::json_type type;
  if (const auto error = value.type().get(type)) return error;
  fields.has_payload = true;
  fields.payload_is_string = type == ondemand::json_type::string;
  fields.payload_is_null = type == ondemand::json_type::null;
  if (fields.payload_is_string) return value.get_string().get(fields.payload);
  if (type == ondemand::json_type::object || type == ondemand::json_type::array) {
    return simdjson::to_json_string(value).get(fields.payload);
  }
  fields.payload = value.raw_json_token();
  while (!fields.payload.empty() && fields.payload.back() <= ' ') fields.payload.remove_suffix(1);
  return simdjson::SUCCESS;
}

simdjson::error_code read_member(ondemand::field field, RecordedFields& fields) {
  std::string_view key;
  if (const auto error = field.unescaped_key().get(key)) return error;
  if (key == "payload") return read_payload(field.value(), fields);
  if (key == "tst") return field.value().get_string().get(fields.tst);
  if (key == "topic") return field.value().get_string().get(fields.topic);
  if (key == "payloadlen") return field.value().get_int64().get(fields.payload_length);
  if (key == "retain") fields.retained = truth_of(field.value());
  if (key == "dup") fields.duplicate = truth_of(field.value());
  return simdjson::SUCCESS;
}

}  // namespace

struct RecordingJudge::Parser {
  ondemand::parser parser;
  simdjson::padded_string text;
};

RecordingJudge::RecordingJudge() : parser_(std::make_unique<Parser>()) {}
RecordingJudge::~RecordingJudge() = default;

bool RecordingJudge::read(std::string_view line, RecordedFields& fields, std::string& why) {
  fields = {};
  parser_->text = simdjson::padded_string(line);
  ondemand::document document;
  ondemand::object object;
  simdjson::error_code error = parser_->parser.iterate(parser_->text).get(document);
  if (!error) error = document.get_object().get(object);
  if (!error) {
    for (auto member : object) {
      ondemand::field field;
      error = std::move(member).get(field);
      if (!error) error = read_member(field, fields);
      if (error) break;
    }
  }
  if (!error && document.current_location().error() != simdjson::OUT_OF_BOUNDS)
    error = simdjson::TRAILING_CONTENT;
  if (error) why = std::string("not a JSON object of a recording: ") + simdjson::error_message(error);
  return !error;
}

}  // namespace coilward
