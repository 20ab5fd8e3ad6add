#include "daemon/history/history_tidy.h"

#include <algorithm>

#include "daemon/history/chunk.h"
#include "daemon/history/history_schema.h"

namespace coilward {
namespace {

// An hour is packed this long after it ended, so that readings a little late do not have it packed twice.
constexpr Millis kGrace = std::chrono::minutes{5};
// Work of one step: short enough that a commit never waits long behind it. An hour is packed as a whole: 24
// channels take some 50 ms on a small board.
constexpr int kDaysAStep = 64;
constexpr int kDeletesAStep = 24;
constexpr int kPagesAStep = 64;
// Free pages are used again by the next hours; only what is more than this is given back.
constexpr int kFewFreePages = 256;

}  // namespace

HistoryTidy::HistoryTidy(SQLite::Database& database)
    : database_(database),
      source_(database),
      over_(database, "SELECT min(id) FROM batch WHERE id < ?"),
      due_(database, "SELECT day, channel FROM day_due WHERE day < ? ORDER BY day, channel LIMIT ?"),
      drop_batches_(database, "DELETE FROM batch WHERE id >= ? AND id < ?"),
      drop_chunks_(database, "DELETE FROM chunk WHERE id >= ? AND id < ?"),
      put_chunk_(database, "INSERT OR REPLACE INTO chunk (id, body) VALUES (?, ?)"),
      put_rollup_(database,
                  "INSERT OR REPLACE INTO rollup (id, count, lowest, highest, sum, minutes) "
                  "VALUES (?, ?, ?, ?, ?, ?)"),
      make_due_(database, "INSERT OR IGNORE INTO day_due (day, channel) VALUES (?, ?)"),
      drop_day_(database, "DELETE FROM day WHERE id = ?"),
      put_day_(database, "INSERT OR REPLACE INTO day (id, hours) VALUES (?, ?)"),
      drop_due_(database, "DELETE FROM day_due WHERE day = ? AND channel = ?"),
      delete_old_(database,
                  "DELETE FROM chunk WHERE id IN (SELECT id FROM chunk WHERE id < ? ORDER BY id LIMIT ?)") {}

TidyStep HistoryTidy::step(UtcTime now, int raw_days) {
  TidyStep step;
  const auto oldest = hour_of(now - std::chrono::hours{24} * raw_days);
  const auto hour = hour_of(now - kGrace);
  if (pack_hour(hour, step) || roll_days(hour / kHoursADay, step) || delete_old(oldest, step) ||
      give_back_pages(step))
    return step;
  return step;
}

// All channels of the first such hour.
bool HistoryTidy::pack_hour(std::int64_t before_hour, TidyStep& step) {
  over_.start(batch_id(before_hour));
  const bool any = over_.next() && !over_.column(0).isNull();
  const auto hour = any ? over_.column(0).getInt64() >> 20 : 0;
  over_.done();
  if (!any) return false;
  SQLite::Transaction transaction(database_, SQLite::TransactionBehavior::IMMEDIATE);
  const auto fresh = source_.channels_of_batches(hour);
  auto parts = source_.hour_row(hour);
  std::erase_if(parts, [&](const KeptPart& part) {
    return std::binary_search(fresh.begin(), fresh.end(), part.channel);
  });
  for (const auto channel : fresh) step.duplicates += pack({hour, channel}, parts);
  if (!parts.empty()) put_chunk_.run(hour_row_id(hour), Blob{pack_parts(parts)});
  drop_batches_.run(batch_id(hour), batch_id(hour + 1));
  transaction.commit();
  step.more = true;
  return true;
}

// Adds the channel's chunks to the hour's row. Its kind does not matter for packing: a chunk does not hold
// it.
std::uint64_t HistoryTidy::pack(Place place, std::vector<KeptPart>& parts) {
  auto readings = source_.packed(place.time, place.channel, {});
  const bool raw_is_gone = readings.empty() && source_.minutes(place.time, place.channel).has_value();
  source_.add_batches(place.time, place.channel, {}, readings);
  const auto before = readings.size();
  sort_and_unite(readings);
  // Readings later than their raw neighbours' deletion: a roll-up of them alone would replace the true one.
  if (raw_is_gone || readings.empty()) return before;
  drop_chunks_.run(chunk_id(place.time, place.channel), chunk_id(place.time, place.channel + 1));
  each_chunk(readings, Packing::thorough, [&](std::string chunk) {
    parts.push_back({place.channel, std::move(chunk)});
  });
  const auto minutes = minutes_of(readings, place.time);
  const auto total = total_of(minutes);
  put_rollup_.run(rollup_id(place.time, place.channel), total.count, total.lowest, total.highest, total.sum,
                  Blob{pack_minutes(minutes)});
  make_due_.run(place.time / kHoursADay, place.channel);
  drop_day_.run(day_id(place.time / kHoursADay, place.channel));
  return before - readings.size();
}

bool HistoryTidy::roll_days(std::int64_t before_day, TidyStep& step) {
  std::vector<Place> places;
  due_.start(before_day, kDaysAStep);
  while (due_.next()) places.push_back({due_.column(0).getInt64(), due_.column(1).getInt64()});
  due_.done();
  if (places.empty()) return false;
  SQLite::Transaction transaction(database_, SQLite::TransactionBehavior::IMMEDIATE);
  for (const auto& place : places) roll_day(place);
  transaction.commit();
  step.more = true;
  return true;
}

void HistoryTidy::roll_day(Place place) {
  DayHours hours;
  for (std::int64_t hour = 0; hour < kHoursADay; ++hour)
    if (const auto total = source_.total(place.time * kHoursADay + hour, place.channel))
      hours[static_cast<std::size_t>(hour)] = *total;
  put_day_.run(day_id(place.time, place.channel), Blob{pack_day(hours)});
  drop_due_.run(place.time, place.channel);
}

bool HistoryTidy::delete_old(std::int64_t oldest_hour, TidyStep& step) {
  const int before = database_.getTotalChanges();
  delete_old_.run(chunk_id(oldest_hour, 0), kDeletesAStep);
  step.more = database_.getTotalChanges() > before;
  return step.more;
}

bool HistoryTidy::give_back_pages(TidyStep& step) {
  const int free = database_.execAndGet("PRAGMA freelist_count").getInt();
  const int pages = database_.execAndGet("PRAGMA page_count").getInt();
  if (free < kFewFreePages || free < pages / 10) return false;
  database_.exec("PRAGMA incremental_vacuum(" + std::to_string(kPagesAStep) + ")");
  step.more = true;
  return true;
}

}  // namespace coilward
