// One SenML record as it stands in a pack (RFC 8428 section 4), before base fields are applied.
#pragma once

#include <cstdint>
#include <string_view>

namespace coilward_plugins {

// The numbers are the CBOR labels of RFC 8428 section 6, table 4.
enum class SenmlLabel : int {
  bs = -6,
  bv,
  bu,
  bt,
  bn,
  bver,
  n,
  u,
  v,
  vs,
  vb,
  s,
  t,
  ut,
  vd,
};
inline constexpr int kLowestLabel = -6, kHighestLabel = 8;

// A mark, not a text, when nothing is wrong: callers only look whether it is null.
using SenmlTrouble = const char*;

struct SenmlRecord {
  std::uint32_t present = 0;  // bit (label + 6)
  std::string_view bn, bu, n, u;
  double bver = 0, bt = 0, bv = 0, bs = 0, v = 0, s = 0, t = 0, ut = 0;
  bool vb = false;

  bool has(SenmlLabel label) const { return (present >> bit(label)) & 1U; }

  // Each returns what is wrong: a field twice, or of another type than the standard's. vs and vd are noted,
  // not kept: a text is no reading.
  SenmlTrouble put(SenmlLabel label, std::string_view text);
  SenmlTrouble put(SenmlLabel label, double number);
  SenmlTrouble put(SenmlLabel label, bool boolean);
  SenmlTrouble put_bytes(SenmlLabel label);  // CBOR's form of vd

 private:
  static unsigned bit(SenmlLabel label) {
    return static_cast<unsigned>(static_cast<int>(label) - kLowestLabel);
  }
  SenmlTrouble mark(SenmlLabel label);
};

}  // namespace coilward_plugins
