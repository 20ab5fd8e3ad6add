#include "daemon/mqtt/spool_segment.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <sys/uio.h>
#include <unistd.h>

#include <cerrno>
#include <charconv>
#include <cstring>
#include <filesystem>
#include <vector>

#include "daemon/mqtt/spool_record.h"

namespace coilward {
namespace {

constexpr std::string_view kEnding = ".spool";

// Twenty digits, so that the order of names is the order of numbers.
std::string segment_path(const std::string& directory, std::uint64_t first) {
  return fmt::format("{}/{:020}{}", directory, first, kEnding);
}

Error file_error(const std::string& path, const char* doing) {
  return {Cause::world, fmt::format("{}: {}: {}", path, doing, std::strerror(errno))};
}

std::uint64_t first_from_name(const std::string& path) {
  const std::string name = std::filesystem::path(path).stem();
  std::uint64_t first = 0;
  const auto [end, error] = std::from_chars(name.data(), name.data() + name.size(), first);
  return error == std::errc{} && end == name.data() + name.size() ? first : 0;
}

iovec piece(const void* data, std::size_t size) { return {const_cast<void*>(data), size}; }

std::string whole_file(int file, std::size_t size) {
  std::string bytes(size, '\0');
  std::size_t have = 0;
  while (have < size) {
    const ssize_t got = ::pread(file, bytes.data() + have, size - have, static_cast<off_t>(have));
    if (got <= 0) break;
    have += static_cast<std::size_t>(got);
  }
  bytes.resize(have);
  return bytes;
}

}  // namespace

Result<std::shared_ptr<SpoolSegment>> SpoolSegment::create(const std::string& directory,
                                                           std::uint64_t first) {
  std::string path = segment_path(directory, first);
  const int file = ::open(path.c_str(), O_RDWR | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
  if (file < 0) return file_error(path, "cannot make spool file");
  return std::shared_ptr<SpoolSegment>(new SpoolSegment(std::move(path), file, first));
}

Result<std::shared_ptr<SpoolSegment>> SpoolSegment::recover(const std::string& path) {
  const std::uint64_t first = first_from_name(path);
  if (first == 0) return Error{Cause::bad_input, path + ": not a spool file's name"};
  const int file = ::open(path.c_str(), O_RDWR | O_CLOEXEC);
  if (file < 0) return file_error(path, "cannot open spool file");
  std::shared_ptr<SpoolSegment> segment(new SpoolSegment(path, file, first));
  if (!segment->scan()) return file_error(path, "cannot cut off the torn end of spool file");
  return segment;
}

SpoolSegment::~SpoolSegment() { ::close(file_); }

bool SpoolSegment::scan() {
  struct stat about {};
  if (::fstat(file_, &about) != 0) return false;
  const std::string bytes = whole_file(file_, static_cast<std::size_t>(about.st_size));
  while (const auto message = parse_spool_record(std::string_view(bytes).substr(size_), true)) {
    if (message->sequence != next_) break;
    size_ += spool_record_size(*message);
    ++next_;
  }
  damaged_ = static_cast<std::uint64_t>(about.st_size) - size_;
  return damaged_ == 0 || ::ftruncate(file_, static_cast<off_t>(size_)) == 0;
}

bool SpoolSegment::append(const Message& message, std::uint64_t sequence) noexcept {
  const SpoolRecordHeader header = make_spool_header(message, sequence);
  const auto wanted = static_cast<ssize_t>(spool_record_size(header));
  const iovec pieces[] = {piece(&header, sizeof header), piece(message.topic.data(), message.topic.size()),
                          piece(message.payload.data(), message.payload.size())};
  if (::pwritev(file_, pieces, 3, static_cast<off_t>(size_)) != wanted) {
    // Nothing can be done if this fails too; the next append writes over it, and a scan stops before it.
    [[maybe_unused]] const int cut = ::ftruncate(file_, static_cast<off_t>(size_));
    return false;
  }
  size_ += static_cast<std::uint64_t>(wanted);
  next_ = sequence + 1;
  return true;
}

std::size_t SpoolSegment::read_at(std::uint64_t offset, char* to, std::size_t size) const {
  if (offset >= size_) return 0;
  const ssize_t got =
      ::pread(file_, to, std::min<std::uint64_t>(size, size_ - offset), static_cast<off_t>(offset));
  return got < 0 ? 0 : static_cast<std::size_t>(got);
}

void SpoolSegment::remove() noexcept { ::unlink(path_.c_str()); }

}  // namespace coilward
