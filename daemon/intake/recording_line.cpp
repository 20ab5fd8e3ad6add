#include <algorithm>

#include "daemon/intake/recorded_time.h"
#include "daemon/intake/recording_judge.h"
#include "daemon/intake/recording_reader.h"
#include "daemon/intake/recording_scan.h"

namespace coilward {
namespace {

constexpr std::size_t kShown = 60;  // bytes of a wrong text quoted in a reason

std::string quoted(std::string_view text) {
  return "\"" + std::string(text.substr(0, kShown)) + (text.size() > kShown ? "...\"" : "\"");
}

unsigned byte(char c) { return static_cast<unsigned char>(c); }

// Scripts that hold a payload's bytes as characters U+0000..U+00FF write each byte from 80 on as two. Told by
// payloadlen counting the characters, and by a first byte that no text begins with. False: it is not so.
bool bytes_of_characters(const RecordedFields& fields, std::string& out) {
  const std::string_view text = fields.payload;
  if (text.empty() || (byte(text[0]) != 0xC2 && byte(text[0]) != 0xC3)) return false;
  out.clear();
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (byte(text[i]) < 0x80) {
      out += text[i];
    } else if ((byte(text[i]) == 0xC2 || byte(text[i]) == 0xC3) && i + 1 < text.size()) {
      out += static_cast<char>((byte(text[i]) << 6) | (byte(text[i + 1]) & 0x3F));
      ++i;
    } else {
      return false;
    }
  }
  return static_cast<std::int64_t>(out.size()) == fields.payload_length;
}

}  // namespace

struct RecordingParser::Scratch {
  RecordedFields fields;
  RecordedBuffers buffers;
  RecordedTime time;
  RecordingJudge judge;
  std::string bytes;
  std::string why;
  bool cut = false;

  bool refuse(std::string reason) {
    why = std::move(reason);
    return false;
  }
  std::string_view payload();
};

std::string_view RecordingParser::Scratch::payload() {
  cut = false;
  const auto size = static_cast<std::int64_t>(fields.payload.size());
  if (fields.payload_is_null && fields.payload_length <= 0) return {};
  if (!fields.payload_is_string || fields.payload_length < 0 || size == fields.payload_length)
    return fields.payload;
  cut = size < fields.payload_length;
  return !cut && bytes_of_characters(fields, bytes) ? std::string_view(bytes) : fields.payload;
}

RecordingParser::RecordingParser() : scratch_(std::make_unique<Scratch>()) {}
RecordingParser::~RecordingParser() = default;
RecordingParser::RecordingParser(RecordingParser&&) noexcept = default;
RecordingParser& RecordingParser::operator=(RecordingParser&&) noexcept = default;

const std::string& RecordingParser::why() const { return scratch_->why; }
bool RecordingParser::cut_payload() const { return scratch_->cut; }

bool RecordingParser::parse(std::string_view line, Message& message) {
  Scratch& at = *scratch_;
  if (!scan_recorded(line, at.fields, at.buffers) && !at.judge.read(line, at.fields, at.why)) return false;
  UtcTime arrival;
  if (at.fields.tst.empty()) return at.refuse("no \"tst\", the time of arrival");
  if (!at.time.parse(at.fields.tst, arrival))
    return at.refuse("\"tst\" is no time: " + quoted(at.fields.tst));
  if (at.fields.topic.empty()) return at.refuse("no \"topic\"");
  if (!at.fields.has_payload) return at.refuse("no \"payload\"");
  message = Message{};
  message.topic = at.fields.topic;
  message.payload = at.payload();
  message.arrival = arrival;
  message.retained = at.fields.retained;
  message.duplicate = at.fields.duplicate;
  return true;
}

}  // namespace coilward
