#include "daemon/intake/recording_reader.h"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "daemon/intake/recording_lines.h"

namespace coilward {
namespace {
constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";  // some editors put it in front of UTF-8
}

class RecordingReader::Impl {
 public:
  explicit Impl(int descriptor) : lines_(descriptor) {}

  bool next(Message& message) {
    for (std::string_view line; lines_.next(line);) {
      if (lines_.number() == 1 && line.starts_with(kByteOrderMark)) line.remove_prefix(kByteOrderMark.size());
      if (lines_.too_long()) {
        bad("longer than 16 MB");
      } else if (!blank(line)) {
        if (parser_.parse(line, message)) return counted();
        bad(parser_.why());
      }
    }
    return false;
  }

  BadLine told_;
  std::uint64_t bad_lines_ = 0;
  std::uint64_t cut_payloads_ = 0;
  RecordingLines lines_;

 private:
  static bool blank(std::string_view line) {
    return line.find_first_not_of(" \t\r") == std::string_view::npos;
  }

  bool counted() {
    if (parser_.cut_payload()) ++cut_payloads_;
    return true;
  }

  void bad(std::string_view why) {
    ++bad_lines_;
    if (told_) told_(lines_.number(), why);
  }

  RecordingParser parser_;
};

Result<RecordingReader> RecordingReader::open(const std::string& path) {
  if (path == "-") return RecordingReader(::dup(STDIN_FILENO));
  const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (descriptor < 0) {
    const Cause cause = errno == ENOENT ? Cause::not_found : Cause::world;
    return Error{cause, "recording " + path + ": " + std::strerror(errno)};
  }
  ::posix_fadvise(descriptor, 0, 0, POSIX_FADV_SEQUENTIAL);
  return RecordingReader(descriptor);
}

RecordingReader::RecordingReader(int descriptor) : impl_(std::make_unique<Impl>(descriptor)) {}
RecordingReader::RecordingReader(RecordingReader&&) noexcept = default;
RecordingReader& RecordingReader::operator=(RecordingReader&&) noexcept = default;
RecordingReader::~RecordingReader() = default;

void RecordingReader::on_bad_line(BadLine told) { impl_->told_ = std::move(told); }
bool RecordingReader::next(Message& message) { return impl_->next(message); }
std::uint64_t RecordingReader::lines() const { return impl_->lines_.number(); }
std::uint64_t RecordingReader::bad_lines() const { return impl_->bad_lines_; }
std::uint64_t RecordingReader::cut_payloads() const { return impl_->cut_payloads_; }
std::uint64_t RecordingReader::bytes() const { return impl_->lines_.bytes(); }
const std::string& RecordingReader::error() const { return impl_->lines_.error(); }

}  // namespace coilward
