#include "plugins/notifiers/command/child.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/eventfd.h>
#include <sys/socket.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <utility>

namespace coilward_plugins {
namespace {

using Clock = std::chrono::steady_clock;
using Millis = std::chrono::milliseconds;

constexpr Millis kGrace{300};  // between the polite and the firm signal

struct Fd {
  int fd = -1;
  Fd() = default;
  explicit Fd(int number) : fd(number) {}
  Fd(const Fd&) = delete;
  Fd& operator=(const Fd&) = delete;
  ~Fd() { reset(); }
  void reset(int number = -1) {
    if (fd >= 0) ::close(fd);
    fd = number;
  }
};

std::vector<char*> pointers(const std::vector<std::string>& texts) {
  std::vector<char*> list;
  for (const auto& text : texts) list.push_back(const_cast<char*>(text.c_str()));
  list.push_back(nullptr);
  return list;
}

void non_blocking(int fd) { ::fcntl(fd, F_SETFL, ::fcntl(fd, F_GETFL) | O_NONBLOCK); }

// The child's ends go to 0 and 2; 1 goes nowhere; nothing else of ours is passed on, blocked signals neither.
int spawn(const std::vector<std::string>& arguments, const std::vector<std::string>& environment, int in,
          int err, pid_t& pid) {
  posix_spawn_file_actions_t files;
  posix_spawn_file_actions_init(&files);
  posix_spawn_file_actions_adddup2(&files, in, 0);
  posix_spawn_file_actions_adddup2(&files, err, 2);
  posix_spawn_file_actions_addopen(&files, 1, "/dev/null", O_WRONLY, 0);
  posix_spawn_file_actions_addclosefrom_np(&files, 3);
  posix_spawnattr_t attributes;
  posix_spawnattr_init(&attributes);
  sigset_t none, all;
  sigemptyset(&none);
  sigfillset(&all);
  posix_spawnattr_setsigmask(&attributes, &none);
  posix_spawnattr_setsigdefault(&attributes, &all);
  posix_spawnattr_setpgroup(&attributes, 0);
  posix_spawnattr_setflags(&attributes,
                           POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF);
  const int error = ::posix_spawnp(&pid, arguments[0].c_str(), &files, &attributes,
                                   pointers(arguments).data(), pointers(environment).data());
  posix_spawnattr_destroy(&attributes);
  posix_spawn_file_actions_destroy(&files);
  return error;
}

class Watch {
 public:
  Watch(pid_t pid, int input, int errors, int interrupts, std::string_view text)
      : pid_(pid),
        process_(static_cast<int>(::syscall(SYS_pidfd_open, pid, 0))),
        input_(input),
        errors_(errors),
        interrupts_(interrupts),
        text_(text) {
    non_blocking(input);
    non_blocking(errors);
    if (text_.empty()) input_.reset();
  }

  ChildResult until_end(double timeout_s) {
    const auto deadline = Clock::now() + Millis{static_cast<long>(timeout_s * 1000)};
    ChildResult result;
    result.end = wait(deadline);
    if (result.end != ChildResult::End::exited) kill_group();
    reap(result);
    hear();
    result.words = words_;
    return result;
  }

 private:
  ChildResult::End wait(Clock::time_point deadline) {
    for (;;) {
      const auto left = std::chrono::ceil<Millis>(deadline - Clock::now()).count();
      if (left <= 0) return ChildResult::End::timed_out;
      pollfd fds[] = {{process_.fd, POLLIN, 0},
                      {interrupts_, POLLIN, 0},
                      {errors_.fd, POLLIN, 0},
                      {input_.fd, POLLOUT, 0}};
      if (::poll(fds, 4, static_cast<int>(std::min<long>(left, 1000))) < 0 && errno != EINTR)
        return ChildResult::End::timed_out;
      if (fds[2].revents != 0) hear();
      if (fds[3].revents != 0) tell();
      if (fds[1].revents != 0) return ChildResult::End::interrupted;
      if (fds[0].revents != 0) return ChildResult::End::exited;
    }
  }

  void tell() {
    const ssize_t sent = ::send(input_.fd, text_.data(), text_.size(), MSG_NOSIGNAL);
    if (sent < 0 && (errno == EAGAIN || errno == EINTR)) return;
    if (sent > 0) text_.remove_prefix(static_cast<std::size_t>(sent));
    if (sent <= 0 || text_.empty()) input_.reset();  // a program may leave its input unread
  }

  void hear() {
    char buffer[4096];
    for (;;) {
      const ssize_t got = errors_.fd < 0 ? 0 : ::read(errors_.fd, buffer, sizeof buffer);
      if (got < 0 && errno == EINTR) continue;
      if (got == 0) errors_.reset();
      if (got <= 0) return;
      words_.append(buffer, static_cast<std::size_t>(got));
      if (words_.size() > kMostChildWords) words_.erase(0, words_.size() - kMostChildWords);
    }
  }

  void kill_group() {
    ::kill(-pid_, SIGTERM);
    pollfd ended{process_.fd, POLLIN, 0};
    ::poll(&ended, 1, static_cast<int>(kGrace.count()));
    ::kill(-pid_, SIGKILL);
  }

  void reap(ChildResult& result) {
    int status = 0;
    while (::waitpid(pid_, &status, 0) < 0 && errno == EINTR) continue;
    if (result.end != ChildResult::End::exited) return;
    if (WIFSIGNALED(status)) result.end = ChildResult::End::killed_by_signal;
    result.status = WIFSIGNALED(status) ? WTERMSIG(status) : WEXITSTATUS(status);
  }

  pid_t pid_;
  Fd process_, input_, errors_;
  int interrupts_;
  std::string_view text_;
  std::string words_;
};

}  // namespace

Interrupter::Interrupter() : fd_(::eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK)) {}
Interrupter::~Interrupter() { ::close(fd_); }

void Interrupter::interrupt() {
  const std::uint64_t one = 1;
  [[maybe_unused]] const auto written = ::write(fd_, &one, sizeof one);
}

void Interrupter::clear() {
  std::uint64_t count = 0;
  [[maybe_unused]] const auto got = ::read(fd_, &count, sizeof count);
}

ChildResult run_child(const std::vector<std::string>& arguments, const std::vector<std::string>& environment,
                      std::string_view input, double timeout_s, const Interrupter& interrupter) {
  // Sockets rather than pipes: a send can be told not to raise SIGPIPE when the program does not read.
  int in[2], err[2];
  if (::socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, in) != 0)
    return {ChildResult::End::not_started, errno, std::strerror(errno)};
  Fd in_child(in[0]), in_ours(in[1]);
  if (::pipe2(err, O_CLOEXEC) != 0) return {ChildResult::End::not_started, errno, std::strerror(errno)};
  Fd err_ours(err[0]), err_child(err[1]);
  pid_t pid = -1;
  if (const int error = spawn(arguments, environment, in_child.fd, err_child.fd, pid); error != 0)
    return {ChildResult::End::not_started, error, arguments[0] + ": " + std::strerror(error)};
  in_child.reset();
  err_child.reset();
  Watch watch(pid, std::exchange(in_ours.fd, -1), std::exchange(err_ours.fd, -1), interrupter.fd(), input);
  return watch.until_end(timeout_s);
}

}  // namespace coilward_plugins
