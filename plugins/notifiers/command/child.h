// Runs a program with something on its standard input, within a time limit, and hears what it says on
// standard error. No shell. The program has a process group of its own, which goes with it when time is up.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace coilward_plugins {

inline constexpr std::size_t kMostChildWords =
    2000;  // bytes of standard error that are kept; the rest is read

struct ChildResult {
  enum class End { exited, killed_by_signal, timed_out, interrupted, not_started } end = End::not_started;
  int status = 0;     // exit status, or the signal
  std::string words;  // the last kMostChildWords bytes of standard error, or why it was not started
};

// Wakes a running child's watcher from any thread.
class Interrupter {
 public:
  Interrupter();
  ~Interrupter();
  Interrupter(const Interrupter&) = delete;
  Interrupter& operator=(const Interrupter&) = delete;
  void interrupt();
  void clear();
  int fd() const { return fd_; }

 private:
  int fd_;
};

// arguments: the program (looked up in PATH when it has no slash) and what follows. environment: NAME=value,
// all of it.
ChildResult run_child(const std::vector<std::string>& arguments, const std::vector<std::string>& environment,
                      std::string_view input, double timeout_s, const Interrupter& interrupter);

}  // namespace coilward_plugins
