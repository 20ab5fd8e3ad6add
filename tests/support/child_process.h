// A program started by a test, ended with it whatever happens.
#pragma once

#include <sys/types.h>

#include <chrono>
#include <string>
#include <vector>

namespace coilward {

// Thread: the one that started it (the child is killed when that thread ends).
class ChildProcess {
 public:
  ChildProcess() = default;
  // output: a file that takes stdout and stderr; empty: the test's own. Throws std::runtime_error when it
  // cannot be started.
  ChildProcess(const std::vector<std::string>& command, const std::string& output);
  ~ChildProcess();  // SIGKILL
  ChildProcess(ChildProcess&& other) noexcept;
  ChildProcess& operator=(ChildProcess&& other) noexcept;

  bool running();
  void signal(int number) const;
  // Sends the signal and waits for the end; SIGKILL after `patience`. Returns the exit status, or minus the
  // signal that ended it.
  int end(int signal_number, std::chrono::milliseconds patience = std::chrono::seconds(10));
  pid_t pid() const { return pid_; }

 private:
  pid_t pid_ = -1;
  int status_ = 0;
};

// Processor time of a process so far, to the hundredth of a second; 0 when there is none.
double cpu_ms_of(pid_t pid);
// The processes that this one started and that still run.
std::vector<pid_t> children_of(pid_t pid);

// Runs a program to its end and returns its exit status; its output goes to `output`.
int run_to_end(const std::vector<std::string>& command, const std::string& output = "/dev/null");

// Where a program of the system is: PATH and the sbin directories, which a user's PATH lacks. Empty: nowhere.
std::string find_program(const std::string& name);

}  // namespace coilward
