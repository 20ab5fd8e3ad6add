#include "daemon/mqtt/spool_record.h"

#include <boost/crc.hpp>
#include <cstring>

namespace coilward {
namespace {

enum Flag : std::uint8_t { kRetained = 1, kDuplicate = 2, kTimeUnsure = 4 };

using Crc32c = boost::crc_optimal<32, 0x1EDC6F41, 0xFFFFFFFF, 0xFFFFFFFF, true, true>;

std::uint32_t checksum(const SpoolRecordHeader& header, std::string_view topic, std::string_view payload) {
  Crc32c crc;
  const char* bytes = reinterpret_cast<const char*>(&header);
  crc.process_bytes(bytes + sizeof header.crc, sizeof header - sizeof header.crc);
  crc.process_bytes(topic.data(), topic.size());
  crc.process_bytes(payload.data(), payload.size());
  return crc.checksum();
}

std::uint8_t flags_of(const Message& message) {
  return static_cast<std::uint8_t>((message.retained ? kRetained : 0) | (message.duplicate ? kDuplicate : 0) |
                                   (message.time_unsure ? kTimeUnsure : 0));
}

Message message_of(const SpoolRecordHeader& header, std::string_view bytes) {
  Message message;
  message.topic = bytes.substr(sizeof header, header.topic_size);
  message.payload = bytes.substr(sizeof header + header.topic_size, header.payload_size);
  message.arrival = from_ms(header.arrival_ms);
  message.retained = (header.flags & kRetained) != 0;
  message.duplicate = (header.flags & kDuplicate) != 0;
  message.time_unsure = (header.flags & kTimeUnsure) != 0;
  message.sequence = header.sequence;
  return message;
}

}  // namespace

SpoolRecordHeader make_spool_header(const Message& message, std::uint64_t sequence) {
  SpoolRecordHeader header;
  header.payload_size = static_cast<std::uint32_t>(message.payload.size());
  header.sequence = sequence;
  header.arrival_ms = to_ms(message.arrival);
  header.topic_size = static_cast<std::uint16_t>(message.topic.size());
  header.flags = flags_of(message);
  header.crc = checksum(header, message.topic, message.payload);
  return header;
}

std::uint64_t spool_record_size(const SpoolRecordHeader& header) {
  return sizeof header + header.topic_size + header.payload_size;
}

std::uint64_t spool_record_size(const Message& message) {
  return sizeof(SpoolRecordHeader) + message.topic.size() + message.payload.size();
}

std::optional<Message> parse_spool_record(std::string_view bytes, bool checked) {
  SpoolRecordHeader header;
  if (bytes.size() < sizeof header) return std::nullopt;
  std::memcpy(&header, bytes.data(), sizeof header);
  if (header.magic != SpoolRecordHeader{}.magic || bytes.size() < spool_record_size(header))
    return std::nullopt;
  const Message message = message_of(header, bytes);
  if (checked && checksum(header, message.topic, message.payload) != header.crc) return std::nullopt;
  return message;
}

}  // namespace coilward
