#include "plugins/decoders/senml/senml_json.h"

#include <optional>

namespace coilward_plugins {
namespace {

using simdjson::dom::element;
using simdjson::dom::element_type;

constexpr std::size_t kKeptPayload = 65536;  // bytes; the parser takes about 14 times as much

std::optional<SenmlLabel> base_label(std::string_view key) {
  using enum SenmlLabel;
  if (key == "bver") return bver;
  if (key.size() != 2) return std::nullopt;
  switch (key[1]) {
    case 'n':
      return bn;
    case 't':
      return bt;
    case 'u':
      return bu;
    case 'v':
      return bv;
    case 's':
      return bs;
    default:
      return std::nullopt;
  }
}

std::optional<SenmlLabel> one_letter_label(char key) {
  using enum SenmlLabel;
  switch (key) {
    case 'n':
      return n;
    case 'u':
      return u;
    case 'v':
      return v;
    case 's':
      return s;
    case 't':
      return t;
    default:
      return std::nullopt;
  }
}

std::optional<SenmlLabel> label_of(std::string_view key) {
  using enum SenmlLabel;
  if (key.size() == 1) return one_letter_label(key[0]);
  if (key.starts_with('b')) return base_label(key);
  if (key == "vs") return vs;
  if (key == "vb") return vb;
  if (key == "vd") return vd;
  if (key == "ut") return ut;
  return std::nullopt;
}

SenmlTrouble put(SenmlRecord& record, SenmlLabel label, const element& value) {
  switch (value.type()) {
    case element_type::DOUBLE:
    case element_type::INT64:
    case element_type::UINT64:
      return record.put(label, value.get_double().value_unsafe());
    case element_type::STRING:
      return record.put(label, value.get_string().value_unsafe());
    case element_type::BOOL:
      return record.put(label, value.get_bool().value_unsafe());
    default:
      return "a field is null, a list or an object";
  }
}

SenmlTrouble read_record(const element& item, SenmlRecord& record) {
  simdjson::dom::object object;
  if (item.get(object)) return "a record is not an object";
  for (const auto& [key, value] : object) {
    if (const auto label = label_of(key)) {
      if (const auto wrong = put(record, *label, value)) return wrong;
    } else if (key.ends_with('_')) {
      return "a field whose name ends in '_' must be understood, and is not (RFC 8428 section 4.4)";
    }
  }
  return nullptr;
}

}  // namespace

void SenmlJson::decode_document(std::string_view payload, SenmlPack& pack, coilward::plugin::Values& out) {
  element document;
  if (const auto error = parser_.parse(payload.data(), payload.size()).get(document))
    return out.refuse(simdjson::error_message(error));
  simdjson::dom::array records;
  if (document.get(records)) return out.refuse("a SenML pack is a JSON array of records");
  pack.begin();
  for (const element& item : records) {
    SenmlRecord record;
    SenmlTrouble wrong = read_record(item, record);
    if (!wrong) wrong = pack.add(record, out);
    if (wrong) return out.refuse(wrong);
  }
}

void SenmlJson::decode(std::string_view payload, SenmlPack& pack, coilward::plugin::Values& out) {
  decode_document(payload, pack, out);
  if (payload.size() > kKeptPayload) parser_ = simdjson::dom::parser();
}

}  // namespace coilward_plugins
