#include "daemon/message_in_hand.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/mman.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <functional>
#include <string_view>

namespace coilward {

// As it lies in the file. A shared mapping keeps what a killed process wrote; zero at first.
struct MessageInHand::Page {
  std::uint64_t in_hand;  // mark of the message; 0: none
  std::uint64_t crashed;  // of the one that crashed last
  std::uint32_t crashes;  // on that one
};

namespace {

// Of topic and payload; never 0.
std::uint64_t mark_of(const Message& message) {
  const std::hash<std::string_view> hash;
  return (hash(message.topic) * 31 + hash(message.payload)) | 1;
}

// Of this thread only: a crash in a notifier's thread is not the message's fault.
thread_local void* held = nullptr;

}  // namespace

Result<std::unique_ptr<MessageInHand>> MessageInHand::open(const std::string& run_directory) {
  const std::string name = run_directory + "/in-hand";
  const auto failed = [&] {
    return Error{Cause::world, fmt::format("the file {} cannot be made: {}", name, std::strerror(errno))};
  };
  const int file = ::open(name.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
  if (file < 0) return failed();
  void* page = MAP_FAILED;
  // Room for it now: a page that cannot be had later is a signal.
  if (const int error = ::posix_fallocate(file, 0, sizeof(Page)); error != 0)
    errno = error;
  else
    page = ::mmap(nullptr, sizeof(Page), PROT_READ | PROT_WRITE, MAP_SHARED, file, 0);
  const int error = errno;
  ::close(file);
  errno = error;
  if (page == MAP_FAILED) return failed();
  return std::unique_ptr<MessageInHand>(new MessageInHand(static_cast<Page*>(page)));
}

MessageInHand::~MessageInHand() {
  put_down();
  ::munmap(page_, sizeof(Page));
}

bool MessageInHand::crashes(const Message& message) const {
  return page_->crashes > kCrashesTolerated && page_->crashed == mark_of(message);
}

void MessageInHand::take(const Message& message) noexcept {
  page_->in_hand = mark_of(message);
  held = page_;
}

void MessageInHand::put_down() noexcept {
  held = nullptr;
  page_->in_hand = 0;
}

void MessageInHand::note_crash() noexcept {
  auto* page = static_cast<Page*>(held);
  if (page == nullptr || page->in_hand == 0) return;
  page->crashes = page->crashed == page->in_hand ? page->crashes + 1 : 1;
  page->crashed = page->in_hand;
}

}  // namespace coilward
