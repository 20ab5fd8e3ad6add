// The latest rejects, a fixed number of them.
#pragma once

#include <vector>

#include "daemon/intake/intake.h"

namespace coilward {

// The beginning of a payload for people: at most 96 bytes, what is not printable ASCII as \xNN.
std::string payload_head(std::string_view payload);

class RejectRing {
 public:
  void add(RejectedSample sample);
  std::vector<RejectedSample> newest_first() const;

 private:
  std::vector<RejectedSample> ring_;
  std::size_t next_ = 0;
};

}  // namespace coilward
