#include "daemon/intake/recording_lines.h"

#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "daemon/intake/recording_reader.h"

namespace coilward {
namespace {
constexpr std::size_t kBlock = 1u << 20;
}

RecordingLines::RecordingLines(int descriptor) : descriptor_(descriptor), buffer_(kBlock) {}
RecordingLines::~RecordingLines() {
  if (descriptor_ >= 0) ::close(descriptor_);
}

bool RecordingLines::next(std::string_view& line) {
  while (true) {
    const void* found = std::memchr(buffer_.data() + searched_, '\n', end_ - searched_);
    if (found != nullptr) {
      line = take(static_cast<const char*>(found) - buffer_.data() - begin_, 1);
      return true;
    }
    searched_ = end_;
    if (!over_ && fill()) continue;
    if (begin_ == end_ && !skipping_) return false;
    line = take(end_ - begin_, 0);
    return true;
  }
}

std::string_view RecordingLines::take(std::size_t size, std::size_t line_end) {
  std::string_view line(buffer_.data() + begin_, size);
  begin_ = searched_ = begin_ + size + line_end;
  too_long_ = skipping_ || size > RecordingReader::kLongestLine;
  skipping_ = false;
  ++number_;
  if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
  return line;
}

void RecordingLines::make_room() {
  if (end_ - begin_ > RecordingReader::kLongestLine) {
    skipping_ = true;
    begin_ = end_;
  }
  std::memmove(buffer_.data(), buffer_.data() + begin_, end_ - begin_);
  end_ -= begin_;
  searched_ -= begin_;
  begin_ = 0;
  if (end_ > buffer_.size() / 2) buffer_.resize(buffer_.size() * 2);
}

bool RecordingLines::fill() {
  if (buffer_.size() - end_ < kBlock / 2) make_room();
  ssize_t got = 0;
  do {
    got = ::read(descriptor_, buffer_.data() + end_, buffer_.size() - end_);
  } while (got < 0 && errno == EINTR);
  if (got < 0) error_ = std::string("reading the recording: ") + std::strerror(errno);
  over_ = got <= 0;
  if (got > 0) end_ += got, bytes_ += got;
  return got > 0;
}

}  // namespace coilward
