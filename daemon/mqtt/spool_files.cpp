#include "daemon/mqtt/spool_files.h"

#include <algorithm>
#include <filesystem>

namespace coilward {
namespace {

// Sixteen segments, so that a full spool loses a sixteenth at a time; at most 1 MiB each, so that trimming
// keeps up with what was stored.
std::uint64_t segment_bytes_for(std::uint64_t max_bytes) {
  return std::clamp<std::uint64_t>(max_bytes / 16, 4096, 1 << 20);
}

std::vector<std::string> spool_paths(const std::string& directory) {
  std::vector<std::string> paths;
  std::error_code error;
  for (const auto& entry : std::filesystem::directory_iterator(directory, error)) {
    if (entry.path().extension() == ".spool") paths.push_back(entry.path());
  }
  std::ranges::sort(paths);
  return paths;
}

}  // namespace

SpoolFiles::SpoolFiles(std::string directory, std::uint64_t max_bytes)
    : directory_(std::move(directory)), max_bytes_(max_bytes), segment_bytes_(segment_bytes_for(max_bytes)) {}

Result<bool> SpoolFiles::recover(std::uint64_t first) {
  for (const std::string& path : spool_paths(directory_)) {
    auto segment = SpoolSegment::recover(path);
    if (!segment) return segment.error();
    damaged_ += (*segment)->damaged();
    first = std::max(first, (*segment)->next());
    if ((*segment)->empty()) {
      (*segment)->remove();
    } else {
      segments_.push_back(*segment);
    }
  }
  if (!segments_.empty() && next_sequence() == first) return true;
  return start_segment(std::max<std::uint64_t>(first, 1));
}

Result<bool> SpoolFiles::start_segment(std::uint64_t first) {
  auto segment = SpoolSegment::create(directory_, first);
  if (!segment) return segment.error();
  segments_.push_back(*segment);
  return true;
}

Result<std::vector<SpoolFiles::Segment>> SpoolFiles::make_room(std::uint64_t size) {
  std::vector<Segment> out;
  if (!active().empty() && active().size() + size > segment_bytes_) {
    if (auto started = start_segment(next_sequence()); !started) return started.error();
  }
  while (segments_.size() > 1 && bytes() + size > max_bytes_) out.push_back(take_oldest());
  return out;
}

SpoolFiles::Segment SpoolFiles::take_oldest() {
  if (segments_.size() < 2) return nullptr;
  Segment oldest = std::move(segments_.front());
  segments_.pop_front();
  oldest->remove();
  return oldest;
}

std::vector<SpoolFiles::Segment> SpoolFiles::take_up_to(std::uint64_t sequence) {
  std::vector<Segment> out;
  while (segments_.size() > 1 && segments_.front()->next() <= sequence + 1) out.push_back(take_oldest());
  return out;
}

std::uint64_t SpoolFiles::bytes() const {
  std::uint64_t sum = 0;
  for (const Segment& segment : segments_) sum += segment->size();
  return sum;
}

std::uint64_t SpoolFiles::messages() const {
  std::uint64_t sum = 0;
  for (const Segment& segment : segments_) sum += segment->next() - segment->first();
  return sum;
}

SpoolFiles::Segment SpoolFiles::holding_after(std::uint64_t after) const {
  const auto found = std::ranges::find_if(segments_, [&](const Segment& s) { return s->next() > after + 1; });
  return found == segments_.end() ? nullptr : *found;
}

}  // namespace coilward
