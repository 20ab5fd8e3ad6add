// A server in Python for tests: its first line of output is its port, each further line is what it got, as
// JSON.
#pragma once

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <fstream>
#include <nlohmann/json.hpp>
#include <optional>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

#include "tests/support/temporary_directory.h"

extern char** environ;

namespace coilward_plugins {

class ScriptServer {
 public:
  // script: path below the source directory. Debian's own interpreter: it has Debian's modules.
  ScriptServer(const std::string& script, std::vector<std::string> arguments) {
    std::vector<std::string> all = {"/usr/bin/python3", "-u", COILWARD_SOURCE_DIR "/" + script};
    all.insert(all.end(), arguments.begin(), arguments.end());
    std::vector<char*> pointers;
    for (auto& one : all) pointers.push_back(one.data());
    pointers.push_back(nullptr);
    int out[2];
    if (::pipe2(out, O_CLOEXEC) != 0) throw std::runtime_error("pipe");
    posix_spawn_file_actions_t files;
    posix_spawn_file_actions_init(&files);
    posix_spawn_file_actions_adddup2(&files, out[1], 1);
    const int error = ::posix_spawn(&pid_, all[0].c_str(), &files, nullptr, pointers.data(), environ);
    posix_spawn_file_actions_destroy(&files);
    ::close(out[1]);
    fd_ = out[0];
    if (error != 0) throw std::runtime_error("cannot start " + script);
    const auto first = line();
    if (!first) throw std::runtime_error(script + " said nothing");
    port_ = std::stoi(*first);
  }
  ~ScriptServer() {
    ::kill(pid_, SIGKILL);
    ::waitpid(pid_, nullptr, 0);
    ::close(fd_);
  }
  ScriptServer(const ScriptServer&) = delete;
  ScriptServer& operator=(const ScriptServer&) = delete;

  int port() const { return port_; }
  std::string at() const { return "127.0.0.1:" + std::to_string(port_); }

  // The next thing it got; nullopt: nothing within the limit.
  std::optional<nlohmann::json> got(std::chrono::milliseconds limit = std::chrono::seconds{10}) {
    const auto text = line(limit);
    return text ? std::optional(nlohmann::json::parse(*text)) : std::nullopt;
  }

 private:
  std::optional<std::string> line(std::chrono::milliseconds limit = std::chrono::seconds{20}) {
    const auto deadline = std::chrono::steady_clock::now() + limit;
    for (;;) {
      if (const auto end = buffer_.find('\n'); end != std::string::npos) {
        std::string text = buffer_.substr(0, end);
        buffer_.erase(0, end + 1);
        return text;
      }
      const auto left =
          std::chrono::ceil<std::chrono::milliseconds>(deadline - std::chrono::steady_clock::now()).count();
      pollfd ready{fd_, POLLIN, 0};
      if (left <= 0 || ::poll(&ready, 1, static_cast<int>(left)) <= 0) return std::nullopt;
      char chunk[4096];
      const ssize_t size = ::read(fd_, chunk, sizeof chunk);
      if (size <= 0) return std::nullopt;
      buffer_.append(chunk, static_cast<std::size_t>(size));
    }
  }

  pid_t pid_ = -1;
  int fd_ = -1;
  int port_ = 0;
  std::string buffer_;
};

using coilward::TemporaryDirectory;

inline std::string file_text(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

}  // namespace coilward_plugins
