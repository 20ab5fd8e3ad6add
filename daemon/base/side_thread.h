// The thread on which passwords are hashed and the file is written, one after the other. Thread: any.
#pragma once

#include <condition_variable>
#include <deque>
#include <functional>
#include <mutex>
#include <thread>

namespace coilward {

class LoginWorker {
 public:
  LoginWorker() : thread_([this] { run(); }) {}
  // Does what was given before, then ends.
  ~LoginWorker();
  void give(std::function<void()> job);

 private:
  void run();
  std::mutex mutex_;
  std::condition_variable changed_;
  std::deque<std::function<void()>> jobs_;
  bool ending_ = false;
  std::thread thread_;
};

}  // namespace coilward
