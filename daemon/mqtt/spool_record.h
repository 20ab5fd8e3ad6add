// One message in a spool file: a header of fixed size, then the topic, then the payload. The file is read by
// the machine that wrote it, so numbers are in its byte order.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

#include "daemon/pipeline.h"

namespace coilward {

struct SpoolRecordHeader {
  std::uint32_t crc =
      0;  // CRC-32C (RFC 3720 appendix B.4) of the rest of the header, the topic and the payload
  std::uint32_t payload_size = 0;
  std::uint64_t sequence = 0;
  std::int64_t arrival_ms = 0;
  std::uint16_t topic_size = 0;  // an MQTT topic has at most 65535 bytes
  std::uint8_t flags = 0;        // 1 retained, 2 duplicate, 4 time unsure
  std::uint8_t magic = 0xC5;
  std::uint32_t unused = 0;
};
static_assert(sizeof(SpoolRecordHeader) == 32);

SpoolRecordHeader make_spool_header(const Message& message, std::uint64_t sequence);

// Bytes that the whole record takes.
std::uint64_t spool_record_size(const SpoolRecordHeader& header);

// The record at the start of `bytes`, its views into them; nullopt when it is not all there. `checked`
// compares the CRC too: needed once, for files of an earlier process.
std::optional<Message> parse_spool_record(std::string_view bytes, bool checked);

// Of the record at the start of `bytes`, which parse_spool_record has accepted.
std::uint64_t spool_record_size(const Message& message);

}  // namespace coilward
