// The forms of keeping readings that are held side by side: history.db as the daemon writes it, and plain
// SQLite rows as one would write them by hand.
#pragma once

#include <memory>
#include <span>
#include <string>

#include "daemon/pipeline.h"

namespace coilward::bench {

class Keeping {
 public:
  virtual ~Keeping() = default;
  // Durable when it returns. now: the stream's time, for upkeep.
  virtual void commit(std::span<const Reading> readings, UtcTime now) = 0;
  // All upkeep that is due, and out of the log into the file, as at a stop.
  virtual void finish(UtcTime now) = 0;

  // Lowest and highest of at most `points` equal stretches of one zone's course; how many there were.
  virtual std::size_t thin(int zone, UtcTime from, UtcTime until, int points) = 0;
};

// form: "coilward"; "rows" (time first, WITHOUT ROWID); "rows-zone-first". Each in its file in the directory
// (file_of). Ends the program when the file cannot be opened or written.
std::unique_ptr<Keeping> open_keeping(const std::string& form, const std::string& directory);
std::string file_of(const std::string& form, const std::string& directory);

}  // namespace coilward::bench
