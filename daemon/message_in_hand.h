// Which message the core works on, in a file that outlives the process. A message whose payload crashes its
// decoder stays in the spool and would crash every next process too: after the second time it is left out,
// and said. It is known by what it says and where, as a crash before its acknowledgement has the broker send
// it again.
#pragma once

#include <cstdint>
#include <memory>
#include <string>

#include "daemon/base/result.h"
#include "daemon/pipeline.h"

namespace coilward {

// Thread: the core's.
class MessageInHand {
 public:
  // On tmpfs beside the spool, as what counts is the spool's next reader. world: the file cannot be made.
  static Result<std::unique_ptr<MessageInHand>> open(const std::string& run_directory);
  ~MessageInHand();
  MessageInHand(const MessageInHand&) = delete;
  MessageInHand& operator=(const MessageInHand&) = delete;

  // Processes crash for other reasons too, so a message is given a second chance, and no third.
  static constexpr std::uint32_t kCrashesTolerated = 1;
  bool crashes(const Message& message) const;

  void take(const Message& message) noexcept;
  void put_down() noexcept;

  // Called by the handler of a crash, on the thread that crashed: async-signal-safe.
  static void note_crash() noexcept;

 private:
  struct Page;
  explicit MessageInHand(Page* page) : page_(page) {}
  Page* page_;
};

}  // namespace coilward
