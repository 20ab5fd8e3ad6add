#include "daemon/history/history_tidy.h"

#include <algorithm>

#include "daemon/history/chunk.h"
#include "daemon/history/history_schema.h"

namespace coilward {
namespace {

// An hour is packed this long after it ended, so that readings a little late do not have it packed twice.
constexpr Millis kGrace = std::chrono::minutes{5};
// Work of one step: short enough that a commit never waits long behind it.
constexpr int kPacksAStep = 32;
constexpr int kDeletesAStep = 256;
constexpr int kPagesAStep = 64;
// Free pages are used again by the next hours; only what is more than this is given back.
constexpr int kFewFreePages = 256;

}  // namespace

HistoryTidy::HistoryTidy(SQLite::Database& database)
    : database_(database),
      source_(database),
      over_(database, "SELECT hour, channel FROM batch WHERE hour < ? ORDER BY hour, channel LIMIT 1"),
      drop_batches_(database, "DELETE FROM batch WHERE hour = ? AND channel = ?"),
      drop_chunks_(database, "DELETE FROM chunk WHERE id >= ? AND id < ?"),
      put_chunk_(database, "INSERT OR REPLACE INTO chunk (id, body) VALUES (?, ?)"),
      put_rollup_(database,
                  "INSERT OR REPLACE INTO rollup (id, count, lowest, highest, sum, minutes) "
                  "VALUES (?, ?, ?, ?, ?, ?)"),
      delete_old_(database,
                  "DELETE FROM chunk WHERE id IN (SELECT id FROM chunk WHERE id < ? ORDER BY id LIMIT ?)") {}

TidyStep HistoryTidy::step(UtcTime now, int raw_days) {
  TidyStep step;
  const auto oldest = hour_of(now - std::chrono::hours{24} * raw_days);
  if (pack_hours(hour_of(now - kGrace), step) || delete_old(oldest, step) || give_back_pages(step))
    return step;
  return step;
}

std::optional<HistoryTidy::Place> HistoryTidy::first_before(std::int64_t hour) {
  std::optional<Place> place;
  over_.start(hour);
  if (over_.next()) place = Place{over_.column(0).getInt64(), over_.column(1).getInt64()};
  over_.done();
  return place;
}

bool HistoryTidy::pack_hours(std::int64_t before_hour, TidyStep& step) {
  if (!first_before(before_hour)) return false;
  SQLite::Transaction transaction(database_, SQLite::TransactionBehavior::IMMEDIATE);
  for (int i = 0; i < kPacksAStep; ++i) {
    const auto place = first_before(before_hour);
    if (!place) break;
    step.duplicates += pack(*place);
  }
  transaction.commit();
  step.more = true;
  return true;
}

// The channel's kind does not matter for packing: a chunk does not hold it.
std::uint64_t HistoryTidy::pack(Place place) {
  auto readings = source_.packed(place.hour, place.channel, {});
  const bool raw_is_gone = readings.empty() && source_.minutes(place.hour, place.channel).has_value();
  source_.add_batches(place.hour, place.channel, {}, readings);
  const auto before = readings.size();
  sort_and_unite(readings);
  drop_batches_.run(place.hour, place.channel);
  // Readings later than their raw neighbours' deletion: a roll-up of them alone would replace the true one.
  if (raw_is_gone || readings.empty()) return before;
  put_chunks(place, readings);
  const auto minutes = minutes_of(readings, place.hour);
  const auto total = total_of(minutes);
  put_rollup_.run(rollup_id(place.hour, place.channel), total.count, total.lowest, total.highest, total.sum,
                  Blob{pack_minutes(minutes)});
  return before - readings.size();
}

void HistoryTidy::put_chunks(Place place, const std::vector<Reading>& readings) {
  drop_chunks_.run(chunk_id(place.hour, place.channel), chunk_id(place.hour, place.channel + 1));
  const std::span<const Reading> all(readings);
  std::int64_t part = 0;
  for (std::size_t at = 0; at < all.size(); at += kMostReadingsInChunk) {
    const auto body = pack_chunk(all.subspan(at, std::min(kMostReadingsInChunk, all.size() - at)));
    if (part >= kMostParts)
      throw SQLite::Exception("more readings in an hour than can be filed", SQLITE_TOOBIG);
    put_chunk_.run(chunk_id(place.hour, place.channel, part++), Blob{body});
  }
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
