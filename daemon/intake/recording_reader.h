// Reads recordings: what `mosquitto_sub -F '%j'` (or '%J') prints, one JSON object a line, in any key order
// and spacing, with LF or CRLF. Known keys: tst, topic, payload, payloadlen, retain, dup; others are passed
// over.
//
// What version 2.0.11 of that program really prints (looked at; the lines are cases of the test):
// - tst is local time, then "Z", then the offset: 2026-11-25T05:47:39.366953Z-0700. The offset counts.
// - '%j': the payload is always a string, null when empty; bytes that are not UTF-8 stand in it raw, and a
// payload
//   with a zero byte is cut there (payloadlen tells). It is handed on as it is and counted in cut_payloads().
// - '%J': the payload is inline JSON; its text, as it stands in the line, is the payload. A JSON string comes
//   without its quotes. What is not JSON leaves an empty line.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include "daemon/base/result.h"
#include "daemon/pipeline.h"

namespace coilward {

// One line to one message. Thread: one at a time. Holds scratch space, so keep one for many lines.
class RecordingParser {
 public:
  RecordingParser();
  ~RecordingParser();
  RecordingParser(RecordingParser&&) noexcept;
  RecordingParser& operator=(RecordingParser&&) noexcept;

  // `line` without its line end, not empty. True: `message` is filled; its views point into `line` or into
  // this object and are good until the next call. False: why() says what is wrong.
  bool parse(std::string_view line, Message& message);
  const std::string& why() const;
  // The latest message's payload is shorter than its payloadlen.
  bool cut_payload() const;

 private:
  struct Scratch;
  std::unique_ptr<Scratch> scratch_;
};

// A whole recording, in big blocks; what a pipe has so far is given without waiting for more. Thread: one.
class RecordingReader {
 public:
  static constexpr std::size_t kLongestLine = 16u << 20;  // bytes; a longer one is a bad line

  // "-" is standard input. not_found or world: the file cannot be opened.
  static Result<RecordingReader> open(const std::string& path);
  // Reads from an open descriptor, which it then owns.
  explicit RecordingReader(int descriptor);
  RecordingReader(RecordingReader&&) noexcept;
  RecordingReader& operator=(RecordingReader&&) noexcept;
  ~RecordingReader();

  // Told of each bad line; reading goes on. Lines are numbered from 1.
  using BadLine = std::function<void(std::uint64_t line, std::string_view why)>;
  void on_bad_line(BadLine told);

  // The next message; its views are good until the next call. False: the end, or a read error (see error()).
  bool next(Message& message);

  std::uint64_t lines() const;  // seen so far, blank ones included: the number of the latest line
  std::uint64_t bad_lines() const;
  std::uint64_t cut_payloads() const;  // payload shorter than its payloadlen
  std::uint64_t bytes() const;
  const std::string& error() const;  // empty unless reading itself failed

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward
