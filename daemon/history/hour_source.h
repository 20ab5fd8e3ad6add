// One hour of one channel as history.db holds it: chunks of the packed hour and the small rows beside them.
// Inside this folder only; throws SQLite::Exception.
#pragma once

#include <optional>
#include <vector>

#include "daemon/history/database.h"
#include "daemon/history/rollup.h"
#include "daemon/pipeline.h"

namespace coilward {

class HourSource {
 public:
  explicit HourSource(SQLite::Database& database);

  // All readings of the hour in canonical order, each once. A row that cannot be unpacked is left out and
  // counted: one bad row must not hide the rest.
  std::vector<Reading> readings(std::int64_t hour, std::int64_t channel_id, Channel channel);
  // The same, packed chunks only.
  std::vector<Reading> packed(std::int64_t hour, std::int64_t channel_id, Channel channel);
  // Appends the small rows.
  void add_batches(std::int64_t hour, std::int64_t channel_id, Channel channel, std::vector<Reading>& to);
  bool has_batches(std::int64_t hour, std::int64_t channel_id);
  bool has_packed(std::int64_t hour, std::int64_t channel_id);

  // As written when the hour was packed; nullopt: it was not yet (or cannot be read).
  std::optional<HourMinutes> minutes(std::int64_t hour, std::int64_t channel_id);

  std::uint64_t damaged() const { return damaged_; }

 private:
  void take(Prepared& rows, Channel channel, std::vector<Reading>& to);

  Prepared chunks_, batches_, minutes_;
  std::uint64_t damaged_ = 0;
};

}  // namespace coilward
