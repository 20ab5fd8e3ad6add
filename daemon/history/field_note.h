// What somebody noted in the field about a finding, with or without a picture. Plain data.
#pragma once

#include <cstdint>
#include <string>

#include "daemon/pipeline.h"

namespace coilward {

struct FieldNote {
  std::int64_t id = 0;  // 0: not kept yet
  std::string finding;  // its id
  std::string
      place;  // "controller", a box's id, or the stop where a stretch of wire begins; empty: all of it
  std::string place_to;  // where that stretch ends; empty: no stretch
  UtcTime at = kNever;
  std::string by, words;  // may be empty
  std::string mime;       // of its picture; empty: it has none
  std::uint32_t width = 0, height = 0;
  std::uint64_t bytes = 0;
};

}  // namespace coilward
