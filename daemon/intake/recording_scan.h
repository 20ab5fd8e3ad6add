// The quick way through one line of a recording: a single pass over a flat JSON object, without a parser's
// tables. It is strict about what it understands and gives up on the rest, which recording_line.cpp then has
// checked by a full parser. Bytes that are not UTF-8 pass, because recorders print them.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace coilward {

// What a line holds, before its parts are judged. Views point into the line or into the buffers beside them.
struct RecordedFields {
  std::string_view tst;
  std::string_view topic;
  std::string_view payload;
  std::int64_t payload_length = -1;  // -1: not said
  bool has_payload = false;
  bool payload_is_null = false;
  bool payload_is_string = false;
  bool retained = false;
  bool duplicate = false;
};

// Room for texts that had escapes in them, reused from line to line.
struct RecordedBuffers {
  std::string tst, topic, payload;
};

// False: not a line it understands; `fields` is then worthless.
bool scan_recorded(std::string_view line, RecordedFields& fields, RecordedBuffers& buffers);

// Undoes JSON escapes (RFC 8259 section 7) of a string's inside. A lone low surrogate U+DC80..U+DCFF stands
// for the raw byte 80..FF, as scripts write bytes that are not UTF-8. False: a bad escape.
bool unescape_json(std::string_view inside, std::string& out);

}  // namespace coilward
