#include "daemon/base/log_limiter.h"

#include <algorithm>
#include <utility>

namespace coilward::log {
namespace {

std::chrono::minutes pause_after(int written) {
  if (written <= 1) return std::chrono::minutes(1);
  return std::chrono::minutes(written == 2 ? 5 : 30);
}

}  // namespace

std::optional<std::uint64_t> Limiter::complain(std::string_view key, Time now) {
  auto it = complaints_.find(key);
  if (it == complaints_.end()) {
    make_room();
    it = complaints_.emplace(key, Complaint{}).first;
  }
  Complaint& complaint = it->second;
  complaint.last_heard = now;
  if (complaint.written > 0 && now - complaint.last_written < pause_after(complaint.written)) {
    ++complaint.held;
    return std::nullopt;
  }
  ++complaint.written;
  complaint.last_written = now;
  return std::exchange(complaint.held, 0);
}

bool Limiter::over(std::string_view key) {
  const auto it = complaints_.find(key);
  if (it == complaints_.end()) return false;
  complaints_.erase(it);
  return true;
}

void Limiter::make_room() {
  if (complaints_.size() < kMostKeys) return;
  complaints_.erase(std::min_element(
      complaints_.begin(), complaints_.end(),
      [](const auto& a, const auto& b) { return a.second.last_heard < b.second.last_heard; }));
}

}  // namespace coilward::log
