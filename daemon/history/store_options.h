// What the stores of this folder share: how a file is opened, and what was done to make it usable.
#pragma once

#include <cstdint>
#include <string>

#include "daemon/pipeline.h"

namespace coilward {

enum class OpenMode : std::uint8_t {
  read_write,  // makes the file when it is missing, brings an older one up to date, repairs
  read_only,   // needs no lock; works beside a running daemon and on a read-only medium
};

struct StoreOptions {
  OpenMode mode = OpenMode::read_write;
  std::uint32_t most_pages = 0;  // PRAGMA max_page_count, a ceiling for the file; 0: none
  UtcTime now = kNever;          // names files moved aside; kNever: the system clock
};

// What happened to a damaged file at open. Empty `moved_to`: nothing, it was sound.
struct Repair {
  std::string moved_to;        // where the damaged file lies now
  std::uint64_t salvaged = 0;  // rows that could still be read and went over to the new file
  std::string what;            // one sentence for log, health and an installation alert
};

}  // namespace coilward
