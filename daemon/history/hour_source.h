// One hour of one channel as history.db holds it: chunks of the packed hour and the small rows beside them;
// and one day of it, rolled up. Inside this folder only; throws SQLite::Exception.
#pragma once

#include <functional>
#include <optional>
#include <vector>

#include "daemon/history/database.h"
#include "daemon/history/rollup.h"
#include "daemon/history/row_parts.h"
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
  // The channels that have small rows of the hour. Counts the rows that cannot be read.
  std::vector<std::int64_t> channels_of_batches(std::int64_t hour);
  // The first or last hour from `from` on (up to `from`) for which the channel has small rows.
  enum class Way : std::uint8_t { forward, backward };
  std::optional<std::int64_t> hour_with_batches(std::int64_t from, Way way, std::int64_t channel_id);
  // The packed hour's row as it is; empty: none, or it cannot be read.
  std::vector<KeptPart> hour_row(std::int64_t hour);
  bool has_packed(std::int64_t hour, std::int64_t channel_id);

  // As written when the hour was packed; nullopt: it was not yet (or cannot be read).
  std::optional<HourMinutes> minutes(std::int64_t hour, std::int64_t channel_id);

  // The whole hour in one; nullopt: not packed yet.
  std::optional<RollUp> total(std::int64_t hour, std::int64_t channel_id);

  // The 24 hours of a day as they are packed; nullopt: not rolled up, or small rows of it wait to be packed.
  std::optional<DayHours> day(std::int64_t day, std::int64_t channel_id);

  std::uint64_t damaged() const { return damaged_; }

 private:
  bool any_batches(std::int64_t from, std::int64_t until, std::int64_t channel_id);
  // Visits the parts of the rows of a started query, until it answers false. How many rows cannot be read.
  using Visit = std::function<bool(std::int64_t hour, const RowPart&)>;
  std::uint64_t each_part(Prepared& select, const Visit& visit);
  // Visits the channel's chunks of a packed hour, until it answers false.
  void each_packed(std::int64_t hour, std::int64_t channel_id,
                   const std::function<bool(std::string_view)>& visit);
  void unpack(std::string_view chunk, Channel channel, std::vector<Reading>& to);

  Prepared chunks_, hour_row_, batches_, later_, earlier_, minutes_, total_, day_;
  std::uint64_t damaged_ = 0;
};

}  // namespace coilward
