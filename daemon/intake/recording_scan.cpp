#include "daemon/intake/recording_scan.h"

#include <charconv>
#include <cstring>

#include "daemon/intake/find_either.h"

namespace coilward {
namespace {

class Scan {
 public:
  Scan(std::string_view line, RecordedFields& fields, RecordedBuffers& buffers)
      : at_(line.data()), end_(line.data() + line.size()), fields_(fields), buffers_(buffers) {}

  bool line() {
    if (!take('{')) return false;
    do {
      if (!member()) return false;
    } while (take(','));
    return take('}') && (space(), at_ == end_);
  }

 private:
  void space() {
    while (at_ != end_ && (*at_ == ' ' || *at_ == '\t')) ++at_;
  }
  bool take(char wanted) {
    space();
    if (at_ == end_ || *at_ != wanted) return false;
    ++at_;
    return true;
  }
  bool next_is(char wanted) {
    space();
    return at_ != end_ && *at_ == wanted;
  }

  bool member() {
    std::string_view key;
    bool escaped = false;
    if (!take('"') || !rest_of_string(key, escaped) || escaped || !take(':')) return false;
    space();
    if (is(key, "payload")) return payload();
    if (is(key, "topic")) return text(fields_.topic, buffers_.topic);
    if (is(key, "tst")) return text(fields_.tst, buffers_.tst);
    std::string_view value;
    if (!skip_value(value)) return false;
    if (is(key, "retain")) fields_.retained = said_yes(value);
    if (is(key, "dup")) fields_.duplicate = said_yes(value);
    if (is(key, "payloadlen")) return number(value, fields_.payload_length);
    return true;
  }

  static bool ends_word(char c) {
    return c == ',' || c == '}' || c == ']' || c == ' ' || c == '\t' || c == '"' || c == '{' || c == '[' ||
           c == ':' || c == '\0';
  }
  // The length is known when compiled, so that no function is called to compare.
  template <std::size_t N>
  static bool is(std::string_view key, const char (&name)[N]) {
    return key.size() == N - 1 && std::memcmp(key.data(), name, N - 1) == 0;
  }

  static bool said_yes(std::string_view value) { return value == "1" || value == "true"; }
  static bool number(std::string_view value, std::int64_t& out) {
    return std::from_chars(value.data(), value.data() + value.size(), out).ec == std::errc{};
  }

  bool payload() {
    fields_.has_payload = true;
    fields_.payload_is_string = next_is('"');
    if (fields_.payload_is_string) return text(fields_.payload, buffers_.payload);
    if (!skip_value(fields_.payload)) return false;
    fields_.payload_is_null = fields_.payload == "null";
    return true;
  }

  bool text(std::string_view& out, std::string& buffer) {
    bool escaped = false;
    if (!take('"') || !rest_of_string(out, escaped)) return false;
    if (!escaped) return true;
    if (!unescape_json(out, buffer)) return false;
    out = buffer;
    return true;
  }

  // Stands after the opening quote; afterwards behind the closing one.
  bool rest_of_string(std::string_view& inside, bool& escaped) {
    const char* start = at_;
    for (;;) {
      at_ = find_either<'"', '\\'>(at_, end_);
      if (at_ == end_) return false;
      if (*at_ == '"') break;
      escaped = true;
      if (end_ - at_ < 2) return false;
      at_ += 2;
    }
    inside = {start, static_cast<std::size_t>(at_ - start)};
    ++at_;
    return true;
  }

  // The text of any JSON value. Brackets must balance; what is inside is for the decoder to judge.
  bool skip_value(std::string_view& value) {
    const char* start = at_;
    if (at_ == end_) return false;
    const bool whole = *at_ == '{' || *at_ == '[' ? skip_nested() : *at_ == '"' ? skip_string() : skip_word();
    value = {start, static_cast<std::size_t>(at_ - start)};
    return whole && !value.empty();
  }

  bool skip_string() {
    std::string_view inside;
    bool escaped = false;
    ++at_;
    return rest_of_string(inside, escaped);
  }

  bool skip_word() {
    while (at_ != end_ && !ends_word(*at_)) ++at_;
    return true;
  }

  bool skip_nested() {
    for (int depth = 0; at_ != end_;) {
      const char c = *at_;
      if (c == '"') {
        if (!skip_string()) return false;
        continue;
      }
      ++at_;
      if (c == '{' || c == '[') ++depth;
      if ((c == '}' || c == ']') && --depth == 0) return true;
    }
    return false;
  }

  const char* at_;
  const char* end_;
  RecordedFields& fields_;
  RecordedBuffers& buffers_;
};

}  // namespace

bool scan_recorded(std::string_view line, RecordedFields& fields, RecordedBuffers& buffers) {
  fields = {};
  return Scan(line, fields, buffers).line();
}

}  // namespace coilward
