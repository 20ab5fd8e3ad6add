// Lines off a descriptor, in big blocks, without copying those that lie within one.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace coilward {

// Thread: one. Owns the descriptor.
class RecordingLines {
 public:
  explicit RecordingLines(int descriptor);
  ~RecordingLines();
  RecordingLines(const RecordingLines&) = delete;
  RecordingLines& operator=(const RecordingLines&) = delete;

  // The next line without its line end; good until the next call. The last one needs no line end. False: the
  // end, or error().
  bool next(std::string_view& line);
  // The line just given was longer than RecordingReader::kLongestLine; its text was let go.
  bool too_long() const { return too_long_; }

  std::uint64_t number() const { return number_; }
  std::uint64_t bytes() const { return bytes_; }
  const std::string& error() const { return error_; }

 private:
  std::string_view take(std::size_t size, std::size_t line_end);
  void make_room();
  bool fill();

  int descriptor_;
  std::vector<char> buffer_;
  std::size_t begin_ = 0;     // of the line being looked for
  std::size_t searched_ = 0;  // no line end before here
  std::size_t end_ = 0;       // of what was read
  std::uint64_t number_ = 0;
  std::uint64_t bytes_ = 0;
  bool over_ = false;
  bool skipping_ = false;
  bool too_long_ = false;
  std::string error_;
};

}  // namespace coilward
