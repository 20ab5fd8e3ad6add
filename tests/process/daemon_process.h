// coilwardd in a directory of its own, with a socket that hears what it tells the service manager.
#pragma once

#include <gtest/gtest.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <algorithm>
#include <csignal>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <mutex>
#include <sstream>
#include <string>
#include <thread>
#include <vector>

#include "tests/support/child_process.h"
#include "tests/support/poll.h"
#include "tests/support/temporary_directory.h"

namespace coilward {

// The receiving end of sd_notify(3). Listens on a thread of its own, as the sender waits when nobody does.
class NotifySocket {
 public:
  explicit NotifySocket(std::string path) : path_(std::move(path)) {
    socket_ = ::socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    std::strncpy(address.sun_path, path_.c_str(), sizeof address.sun_path - 1);
    EXPECT_EQ(::bind(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address), 0);
    listener_ = std::thread([this] { listen(); });
  }
  ~NotifySocket() {
    ::shutdown(socket_, SHUT_RD);
    listener_.join();
    ::close(socket_);
  }
  NotifySocket(const NotifySocket&) = delete;
  NotifySocket& operator=(const NotifySocket&) = delete;

  const std::string& path() const { return path_; }
  // How often this line was told so far, or, ending in '=', a line that starts so.
  int count(const std::string& line) const {
    std::lock_guard lock(mutex_);
    return static_cast<int>(std::count_if(lines_.begin(), lines_.end(), [&](const std::string& told) {
      return told == line || (line.back() == '=' && told.starts_with(line));
    }));
  }

 private:
  void listen() {
    char buffer[4096];
    for (ssize_t size; (size = ::recv(socket_, buffer, sizeof buffer, 0)) > 0;) {
      std::istringstream text(std::string(buffer, static_cast<std::size_t>(size)));
      std::lock_guard lock(mutex_);
      for (std::string line; std::getline(text, line);) lines_.push_back(line);
    }
  }

  std::string path_;
  int socket_ = -1;
  mutable std::mutex mutex_;
  std::vector<std::string> lines_;
  std::thread listener_;
};

inline std::string site_toml(const std::string& broker_url, const std::string& more = "") {
  return "[site]\nid = \"juniper\"\n[mqtt]\nurl = \"" + broker_url +
         "\"\n[history]\ncommit_s = 1\n[[zone]]\nnumber = 1\n" + more;
}

class DaemonProcess {
 public:
  explicit DaemonProcess(const std::string& toml) { write(toml); }

  void write(const std::string& toml) { std::ofstream(config()) << toml; }
  void start(std::vector<std::string> options = {}, std::vector<std::string> environment = {}) {
    std::vector<std::string> command = {"/usr/bin/env", "-u", "JOURNAL_STREAM",
                                        "NOTIFY_SOCKET=" + told.path()};
    command.insert(command.end(), environment.begin(), environment.end());
    for (const std::string& word : {std::string(COILWARD_BINARY_DIR "/bin/coilwardd"), config(),
                                    std::string("--state"), state(), std::string("--run"), run()})
      command.push_back(word);
    command.insert(command.end(), options.begin(), options.end());
    process_ = ChildProcess(command, log_file());
  }
  bool ready(int times = 1) {
    return becomes_true([&] { return told.count("READY=1") >= times || !process_.running(); }) &&
           process_.running();
  }
  bool says(const std::string& text) {
    return becomes_true([&] { return log().find(text) != std::string::npos; });
  }
  // Its exit status when it ends by itself; -9 after a minute.
  int ends() { return process_.end(0, std::chrono::minutes(1)); }

  ChildProcess& process() { return process_; }
  std::string config() const { return directory_ / "site.toml"; }
  std::string state() const { return directory_ / "state"; }
  std::string run() const { return directory_ / "run"; }
  std::string log_file() const { return directory_ / "log"; }
  std::string log() const {
    std::ostringstream text;
    text << std::ifstream(log_file()).rdbuf();
    return text.str();
  }

 private:
  TemporaryDirectory directory_;

 public:
  NotifySocket told{directory_ / "notify"};

 private:
  ChildProcess process_;
};

// A port where nothing listens.
inline std::string nobody() { return "mqtt://127.0.0.1:1"; }

}  // namespace coilward
