// The segments of a spool in their order, kept within a number of bytes.
#pragma once

#include <deque>
#include <memory>
#include <string>
#include <vector>

#include "daemon/mqtt/spool_segment.h"

namespace coilward {

// Thread: none of its own; Spool's lock guards it.
class SpoolFiles {
 public:
  using Segment = std::shared_ptr<SpoolSegment>;

  SpoolFiles(std::string directory, std::uint64_t max_bytes);

  // Takes over what the directory holds and makes an active segment whose next number is `first` or more.
  Result<bool> recover(std::uint64_t first);

  // Makes room in the active segment for a record of `size` bytes: a new segment when it would not fit, and
  // the oldest ones out while all together are too large. Those are handed back, already removed from the
  // directory. An error leaves the active segment as it was.
  Result<std::vector<Segment>> make_room(std::uint64_t size);

  // Takes out the segments whose records are all <= sequence, the active one excepted.
  std::vector<Segment> take_up_to(std::uint64_t sequence);
  // Takes out the oldest segment; nullptr when only the active one is left.
  Segment take_oldest();

  SpoolSegment& active() { return *segments_.back(); }
  std::uint64_t next_sequence() const { return segments_.back()->next(); }
  std::uint64_t segment_bytes() const { return segment_bytes_; }
  std::uint64_t bytes() const;
  std::uint64_t messages() const;
  std::uint64_t damaged() const { return damaged_; }

  // The segment with the first record that has a larger number than `after`; nullptr when there is none.
  Segment holding_after(std::uint64_t after) const;

 private:
  Result<bool> start_segment(std::uint64_t first);

  std::string directory_;
  std::uint64_t max_bytes_;
  std::uint64_t segment_bytes_;
  std::uint64_t damaged_ = 0;
  std::deque<Segment> segments_;  // never empty after recover
};

}  // namespace coilward
