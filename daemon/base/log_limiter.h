// Which repeats of one complaint are written: the first, then one after 1, 5, 30, 30 ... minutes, so that a
// broker that is away for a day costs some fifty lines and not a full disk. Time is an argument.
#pragma once

#include <chrono>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>

namespace coilward::log {

// Thread: one at a time.
class Limiter {
 public:
  using Time = std::chrono::steady_clock::time_point;
  // Complaints told apart; beyond, the one that was silent longest is forgotten (own choice: keys are names
  // of topics and plugins, far fewer on any real site).
  static constexpr std::size_t kMostKeys = 256;

  // How many were held back since the last written one, when this one is to be written; nullopt: hold it
  // back.
  std::optional<std::uint64_t> complain(std::string_view key, Time now);
  // Whether the key had complained. The next complaint is the first again.
  bool over(std::string_view key);
  std::size_t keys() const { return complaints_.size(); }

 private:
  struct Complaint {
    std::uint64_t held = 0;
    int written = 0;
    Time last_written{};
    Time last_heard{};
  };
  void make_room();

  std::map<std::string, Complaint, std::less<>> complaints_;
};

}  // namespace coilward::log
