#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "daemon/history/chunk.h"
#include "daemon/history/rollup.h"
#include "daemon/history/squeeze.h"
#include "daemon/locate/locate_site.h"
#include "daemon/locate/test_reading.h"
#include "daemon/mqtt/spool_record.h"
#include "tests/fuzz/fuzz_targets.h"

namespace coilward {
namespace {

void unpack(std::string_view packed) {
  std::vector<Reading> readings;
  const auto header = unpack_chunk(packed, {ChannelKind::zone_current, 1}, readings);
  must_hold(header ? readings.size() == header->count : readings.empty(), "a chunk is whole or nothing");
  (void)read_chunk_header(packed);
  (void)unpack_minutes(packed);
}

void read_record(std::string_view bytes) {
  const auto message = parse_spool_record(bytes, true);
  const auto unchecked = parse_spool_record(bytes, false);
  if (!message) return;
  must_hold(unchecked.has_value(), "what passes the check passes without it");
  must_hold(spool_record_size(*message) <= bytes.size(), "a record is within what was read");
}

}  // namespace

// As it lies there, and with a right checksum around it.
void fuzz_chunk(std::string_view input) {
  unpack(input);
  std::string sealed(input);
  seal(sealed);
  unpack(sealed);
}

// A record as it lies there; and one of these bytes comes back.
void fuzz_spool(std::string_view input) {
  read_record(input);
  Message message;
  message.topic = input.substr(0, input.find('\n'));
  message.payload = input.substr(message.topic.size());
  message.retained = input.size() % 2 == 1;
  const SpoolRecordHeader header = make_spool_header(message, 7);
  std::string record(reinterpret_cast<const char*>(&header), sizeof header);
  record += std::string(message.topic) + std::string(message.payload);
  const auto back = parse_spool_record(record, true);
  must_hold(back && back->topic == message.topic && back->payload == message.payload && back->sequence == 7 &&
                back->retained == message.retained,
            "a record comes back");
}

void fuzz_test_reading(std::string_view input) {
  static const Config config = row_of_boxes({18, 31, 12});
  static const WirePath path = wire_path(config, 3);
  (void)reading_from_text(std::string(input), kNever);
  const Json json = Json::parse(input, nullptr, false);
  if (json.is_discarded()) return;
  const auto reading = reading_from_json(json, path);
  if (!reading) return must_hold(!reading.error().what.empty(), "a refusal has words");
  must_hold(!reading_words(*reading).empty(), "a reading can be told");
  const auto again = reading_from_text(reading_to_json(*reading).dump(), reading->taken);
  must_hold(
      again && again->at == reading->at && again->value == reading->value && again->kind == reading->kind,
      "a reading that was kept comes back");
}

}  // namespace coilward
