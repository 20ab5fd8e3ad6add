#include "daemon/mqtt/spool.h"

#include <algorithm>
#include <filesystem>
#include <mutex>
#include <vector>

#include "daemon/mqtt/directory_lock.h"
#include "daemon/mqtt/spool_files.h"
#include "daemon/mqtt/spool_record.h"

namespace coilward {
namespace {

constexpr std::uint64_t kLeastBytes = 64 * 1024;
// Read under the lock at once: a copy of a few microseconds.
constexpr std::size_t kChunkBytes = 32 * 1024;

// Whole records at the start of a chunk.
struct Extent {
  std::size_t bytes = 0;
  std::size_t records = 0;
  std::uint64_t last = 0;  // number of the last record
};

Extent measure_records(std::string_view bytes, std::size_t at_most) {
  Extent extent;
  while (extent.records < at_most) {
    const auto message = parse_spool_record(bytes.substr(extent.bytes), false);
    if (!message) break;
    extent.bytes += spool_record_size(*message);
    extent.last = message->sequence;
    ++extent.records;
  }
  return extent;
}

}  // namespace

class Spool::Impl {
 public:
  Impl(DirectoryLock lock, SpoolFiles files)
      : directory_lock_(std::move(lock)), files_(std::move(files)), chunk_(kChunkBytes) {
    status_.found = files_.messages();
    status_.damaged = files_.damaged();
  }

  std::function<void()> wake;

  std::uint64_t append(const Message& message) {
    const std::uint64_t sequence = append_locked(message);
    if (sequence != 0 && wake && !woken_.exchange(true)) wake();
    return sequence;
  }

  std::size_t read(std::uint64_t after, std::size_t at_most,
                   const std::function<void(const Message&)>& visit) {
    woken_ = false;  // before looking, so that whatever is appended from now on wakes again
    std::size_t visited = 0;
    while (visited < at_most) {
      const std::string_view bytes = next_chunk(after, at_most - visited);
      if (bytes.empty()) break;
      visited += visit_chunk(bytes, after, visit);
    }
    return visited;
  }

  void trim(std::uint64_t sequence) {
    std::vector<SpoolFiles::Segment> out;  // closed after the lock is given up
    std::lock_guard lock(mutex_);
    out = files_.take_up_to(sequence);
  }

  SpoolStatus status() const {
    std::lock_guard lock(mutex_);
    SpoolStatus status = status_;
    status.last_sequence = files_.next_sequence() - 1;
    status.bytes = files_.bytes();
    return status;
  }

 private:
  std::uint64_t append_locked(const Message& message) {
    std::lock_guard lock(mutex_);
    const std::uint64_t size = spool_record_size(message);
    const std::uint64_t sequence = files_.next_sequence();
    if (size > files_.segment_bytes() || message.topic.size() > 0xFFFF || !store(message, size, sequence)) {
      ++status_.refused;
      return 0;
    }
    ++status_.appended;
    return sequence;
  }

  // A file system that is full (someone else's files) is treated as a full spool: the oldest goes.
  bool store(const Message& message, std::uint64_t size, std::uint64_t sequence) {
    do {
      auto out = files_.make_room(size);
      if (out) {
        for (const auto& segment : *out) count_dropped(*segment);
        if (files_.active().append(message, sequence)) return true;
      }
    } while (drop_oldest());
    return false;
  }

  bool drop_oldest() {
    const auto oldest = files_.take_oldest();
    if (oldest) count_dropped(*oldest);
    return oldest != nullptr;
  }

  // What the reader had already is not lost.
  void count_dropped(const SpoolSegment& segment) {
    const std::uint64_t unread_from = std::max(segment.first(), read_up_to_ + 1);
    if (segment.next() > unread_from) status_.dropped += segment.next() - unread_from;
  }

  // Where the reader goes on: at the place it came to, also when it had read all and more was appended since;
  // anew from the segment's beginning when it went back or that segment is read or gone. nullptr: there is no
  // more.
  SpoolFiles::Segment find_place(std::uint64_t after) {
    auto segment = files_.holding_after(after);
    if (!segment) return segment;
    if (segment->first() != place_ || after < read_up_to_) offset_ = 0;
    place_ = segment->first();
    return segment;
  }

  // Copies whole records, at most `at_most`, from the reader's place on. They may start with some up to
  // `after`.
  std::string_view next_chunk(std::uint64_t after, std::size_t at_most) {
    std::lock_guard lock(mutex_);
    const auto segment = find_place(after);
    if (!segment) return {};
    std::string_view bytes = copy_from_place(*segment, kChunkBytes);
    Extent extent = measure_records(bytes, at_most);
    if (extent.records == 0) {  // one that is larger than a chunk
      bytes = copy_from_place(*segment, files_.segment_bytes());
      extent = measure_records(bytes, at_most);
    }
    offset_ += extent.bytes;
    read_up_to_ = std::max(after, extent.last);
    return bytes.substr(0, extent.bytes);
  }

  std::string_view copy_from_place(const SpoolSegment& segment, std::size_t size) {
    if (chunk_.size() < size) chunk_.resize(size);
    return {chunk_.data(), segment.read_at(offset_, chunk_.data(), size)};
  }

  static std::size_t visit_chunk(std::string_view bytes, std::uint64_t& after,
                                 const std::function<void(const Message&)>& visit) {
    std::size_t visited = 0;
    while (const auto message = parse_spool_record(bytes, false)) {
      bytes.remove_prefix(spool_record_size(*message));
      if (message->sequence <= after) continue;
      after = message->sequence;
      visit(*message);
      ++visited;
    }
    return visited;
  }

  const DirectoryLock directory_lock_;
  mutable std::mutex mutex_;  // a leaf: nothing else is locked or waited for under it
  SpoolFiles files_;
  SpoolStatus status_;
  std::atomic<bool> woken_ = false;
  // The reader's place: the number that its segment begins with (not the segment, which would stay on the
  // disk), and how far into it.
  std::uint64_t place_ = 0;
  std::uint64_t offset_ = 0;
  std::uint64_t read_up_to_ = 0;
  std::vector<char> chunk_;
};

Result<std::unique_ptr<Spool>> Spool::open(const std::string& directory, std::uint64_t max_bytes,
                                           std::uint64_t first_sequence) {
  std::error_code error;
  std::filesystem::create_directories(directory, error);
  if (error) return Error{Cause::world, directory + ": cannot be made: " + error.message()};
  auto lock = DirectoryLock::take(directory);
  if (!lock) return lock.error();
  SpoolFiles files(directory, std::max(max_bytes, kLeastBytes));
  if (auto recovered = files.recover(first_sequence); !recovered) return recovered.error();
  return std::unique_ptr<Spool>(new Spool(std::make_unique<Impl>(std::move(*lock), std::move(files))));
}

Spool::Spool(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Spool::~Spool() = default;

void Spool::on_arrival(std::function<void()> wake) { impl_->wake = std::move(wake); }

// Out of memory is the only thing that throws here; noexcept makes it the abort that it would be anyway.
std::uint64_t Spool::append(const Message& message) noexcept { return impl_->append(message); }

std::size_t Spool::read(std::uint64_t after, std::size_t at_most,
                        const std::function<void(const Message&)>& visit) {
  return impl_->read(after, at_most, visit);
}

void Spool::trim(std::uint64_t sequence) { impl_->trim(sequence); }

SpoolStatus Spool::status() const { return impl_->status(); }

}  // namespace coilward
