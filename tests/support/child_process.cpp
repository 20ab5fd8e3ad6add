#include "tests/support/child_process.h"

#include <fcntl.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <csignal>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <sstream>
#include <stdexcept>
#include <utility>

#include "tests/support/poll.h"

namespace coilward {
namespace {

[[noreturn]] void become(char* const* arguments, int output) {
  ::prctl(PR_SET_PDEATHSIG, SIGKILL);
  if (output >= 0) {
    ::dup2(output, STDOUT_FILENO);
    ::dup2(output, STDERR_FILENO);
  }
  ::execvp(arguments[0], arguments);
  ::_exit(127);
}

int outcome(int status) { return WIFEXITED(status) ? WEXITSTATUS(status) : -WTERMSIG(status); }

}  // namespace

ChildProcess::ChildProcess(const std::vector<std::string>& command, const std::string& output) {
  std::vector<char*> arguments;
  for (const std::string& word : command) arguments.push_back(const_cast<char*>(word.c_str()));
  arguments.push_back(nullptr);
  const int file =
      output.empty() ? -1 : ::open(output.c_str(), O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
  pid_ = ::fork();
  if (pid_ == 0) become(arguments.data(), file);
  if (file >= 0) ::close(file);
  if (pid_ < 0) throw std::runtime_error("cannot fork for " + command.front());
}

ChildProcess::~ChildProcess() { end(SIGKILL); }

ChildProcess::ChildProcess(ChildProcess&& other) noexcept
    : pid_(std::exchange(other.pid_, -1)), status_(other.status_) {}

ChildProcess& ChildProcess::operator=(ChildProcess&& other) noexcept {
  std::swap(pid_, other.pid_);
  std::swap(status_, other.status_);
  return *this;
}

bool ChildProcess::running() {
  if (pid_ <= 0) return false;
  int status = 0;
  if (::waitpid(pid_, &status, WNOHANG) != pid_) return true;
  status_ = outcome(status);
  pid_ = -1;
  return false;
}

void ChildProcess::signal(int number) const {
  if (pid_ > 0) ::kill(pid_, number);
}

int ChildProcess::end(int signal_number, std::chrono::milliseconds patience) {
  if (signal_number != 0) signal(signal_number);
  if (!becomes_true([this] { return !running(); }, patience)) {
    signal(SIGKILL);
    becomes_true([this] { return !running(); });
  }
  return status_;
}

int run_to_end(const std::vector<std::string>& command, const std::string& output) {
  return ChildProcess(command, output).end(0, std::chrono::minutes(1));
}

std::string find_program(const std::string& name) {
  const char* path = std::getenv("PATH");
  std::istringstream folders(std::string(path == nullptr ? "" : path) + ":/usr/local/sbin:/usr/sbin:/sbin");
  for (std::string folder; std::getline(folders, folder, ':');) {
    const std::string candidate = folder + "/" + name;
    if (::access(candidate.c_str(), X_OK) == 0) return candidate;
  }
  return {};
}

namespace {

// The fields of /proc/PID/stat after the name in brackets; the first is the state (proc(5)).
std::vector<std::string> stat_of(pid_t pid) {
  std::ifstream in("/proc/" + std::to_string(pid) + "/stat");
  const std::string line{std::istreambuf_iterator<char>(in), {}};
  std::istringstream fields(line.substr(std::min(line.size(), line.rfind(')') + 2)));
  return {std::istream_iterator<std::string>(fields), {}};
}

}  // namespace

double cpu_ms_of(pid_t pid) {
  const auto fields = stat_of(pid);
  if (fields.size() < 13) return 0;
  return (std::stod(fields[11]) + std::stod(fields[12])) * 1000 / static_cast<double>(::sysconf(_SC_CLK_TCK));
}

std::vector<pid_t> children_of(pid_t pid) {
  std::vector<pid_t> children;
  for (const auto& entry : std::filesystem::directory_iterator("/proc")) {
    const pid_t child = std::atoi(entry.path().filename().c_str());
    const auto fields = child > 0 ? stat_of(child) : std::vector<std::string>();
    if (fields.size() > 1 && fields[1] == std::to_string(pid)) children.push_back(child);
  }
  return children;
}

}  // namespace coilward
