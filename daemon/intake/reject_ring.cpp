#include "daemon/intake/reject_ring.h"

#include <fmt/format.h>

#include <iterator>

namespace coilward {

std::string payload_head(std::string_view payload) {
  constexpr std::size_t kShown = 96;
  std::string out;
  for (unsigned char c : payload.substr(0, kShown)) {
    if (c >= 0x20 && c < 0x7F && c != '\\')
      out += static_cast<char>(c);
    else
      fmt::format_to(std::back_inserter(out), "\\x{:02X}", c);
  }
  if (payload.size() > kShown) fmt::format_to(std::back_inserter(out), "... ({} bytes)", payload.size());
  return out;
}

void RejectRing::add(RejectedSample sample) {
  if (ring_.size() < Intake::kRejectsKept) {
    ring_.push_back(std::move(sample));
    return;
  }
  ring_[next_] = std::move(sample);
  next_ = (next_ + 1) % ring_.size();
}

std::vector<RejectedSample> RejectRing::newest_first() const {
  std::vector<RejectedSample> list;
  for (std::size_t i = ring_.size(); i > 0; --i) list.push_back(ring_[(next_ + i - 1) % ring_.size()]);
  return list;
}

}  // namespace coilward
