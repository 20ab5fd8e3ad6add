// A thread beside the core's for what takes thought or a disk (hashing passwords, locating faults): jobs one
// after the other. A job does not throw. Thread: any.
#pragma once

#include <condition_variable>
#include <deque>
#include <functional>
#include <mutex>
#include <thread>

namespace coilward {

class SideThread {
 public:
  SideThread() : thread_([this] { run(); }) {}
  // Does what was given before, then ends.
  ~SideThread();
  void give(std::function<void()> job);
  // Jobs that were not begun are not done.
  void drop();

 private:
  void run();
  std::mutex mutex_;
  std::condition_variable changed_;
  std::deque<std::function<void()>> jobs_;
  bool ending_ = false;
  std::thread thread_;
};

}  // namespace coilward
