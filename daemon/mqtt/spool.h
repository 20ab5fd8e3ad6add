// The bounded spool between the broker and the core: what the broker believes delivered is in a file before
// it is acknowledged, so that a killed process loses nothing. The files are on tmpfs: no wear, gone at a
// power cut.
//
// Shape: append-only segment files in one directory, named by the first sequence number in them; records in
// order (spool_record.h). A record that a kill cut short is cut off at the next open: it was never
// acknowledged. Sequence numbers only grow, over restarts too. Full: the oldest segment goes, and its
// messages are counted.
#pragma once

#include <atomic>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>

#include "daemon/base/result.h"
#include "daemon/pipeline.h"

namespace coilward {

struct SpoolStatus {
  std::uint64_t appended = 0;  // messages taken since open
  std::uint64_t found = 0;     // messages already there at open
  std::uint64_t dropped = 0;   // lost unread because the spool was full
  std::uint64_t refused = 0;   // lost because one message was larger than a segment, or the file system full
  std::uint64_t damaged = 0;   // bytes cut off at open
  std::uint64_t last_sequence = 0;  // of the latest message; the next one has a larger number
  std::uint64_t bytes = 0;          // on tmpfs now
};

// Thread: append on any one thread at a time (Paho's), the rest on the reader's (the core's). One leaf lock,
// held for a few microseconds, so that Paho's thread never waits for the core.
class Spool {
 public:
  // Opens or makes the directory and recovers what is there. Numbers start above what was found and at
  // first_sequence at least: whoever remembers the last stored number (tmpfs does not, over a reboot) passes
  // it plus one. max_bytes: of all segments together, at least 64 KiB. conflict: another process has this
  // spool open; world: the directory cannot be used.
  static Result<std::unique_ptr<Spool>> open(const std::string& directory, std::uint64_t max_bytes,
                                             std::uint64_t first_sequence = 1);
  ~Spool();
  Spool(const Spool&) = delete;
  Spool& operator=(const Spool&) = delete;

  // Called on the appender's thread when there is something to read after a time of nothing unread: one call
  // for many messages. Set once, before the first append. Must not wait for anything and must not throw.
  void on_arrival(std::function<void()> wake);

  // Returns the message's sequence number, or 0 when it could not be kept (counted). message.sequence is not
  // looked at.
  std::uint64_t append(const Message& message) noexcept;

  // Calls visit for the messages with a larger number than `after`, in order, at most `at_most` of them, and
  // returns how many. The views in a Message live as long as the call. Fewer than at_most: no more for now,
  // and the next append wakes the reader.
  std::size_t read(std::uint64_t after, std::size_t at_most,
                   const std::function<void(const Message&)>& visit);

  // Everything up to and including `sequence` is safe elsewhere: segments that hold nothing newer are
  // removed.
  void trim(std::uint64_t sequence);

  SpoolStatus status() const;

 private:
  class Impl;
  explicit Spool(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward
