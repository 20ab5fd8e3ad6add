#include "daemon/history/hour_source.h"

#include "daemon/history/chunk.h"
#include "daemon/history/history_schema.h"

namespace coilward {

HourSource::HourSource(SQLite::Database& database)
    : chunks_(database, "SELECT body FROM chunk WHERE id >= ? AND id < ? ORDER BY id"),
      batches_(database, "SELECT body FROM batch WHERE hour = ? AND channel = ? ORDER BY part"),
      minutes_(database, "SELECT minutes FROM rollup WHERE id = ?") {}

std::vector<Reading> HourSource::readings(std::int64_t hour, std::int64_t channel_id, Channel channel) {
  auto found = packed(hour, channel_id, channel);
  add_batches(hour, channel_id, channel, found);
  sort_and_unite(found);
  return found;
}

std::vector<Reading> HourSource::packed(std::int64_t hour, std::int64_t channel_id, Channel channel) {
  std::vector<Reading> found;
  chunks_.start(chunk_id(hour, channel_id), chunk_id(hour, channel_id + 1));
  take(chunks_, channel, found);
  return found;
}

void HourSource::add_batches(std::int64_t hour, std::int64_t channel_id, Channel channel,
                             std::vector<Reading>& to) {
  batches_.start(hour, channel_id);
  take(batches_, channel, to);
}

bool HourSource::has_batches(std::int64_t hour, std::int64_t channel_id) {
  batches_.start(hour, channel_id);
  const bool any = batches_.next();
  batches_.done();
  return any;
}

bool HourSource::has_packed(std::int64_t hour, std::int64_t channel_id) {
  chunks_.start(chunk_id(hour, channel_id), chunk_id(hour, channel_id + 1));
  const bool any = chunks_.next();
  chunks_.done();
  return any;
}

std::optional<HourMinutes> HourSource::minutes(std::int64_t hour, std::int64_t channel_id) {
  minutes_.start(rollup_id(hour, channel_id));
  std::optional<HourMinutes> found;
  if (minutes_.next()) {
    const auto minutes = unpack_minutes(bytes_of(minutes_.column(0)));
    if (minutes) found = *minutes;
    damaged_ += !minutes;
  }
  minutes_.done();
  return found;
}

void HourSource::take(Prepared& rows, Channel channel, std::vector<Reading>& to) {
  while (rows.next())
    if (!unpack_chunk(bytes_of(rows.column(0)), channel, to)) ++damaged_;
  rows.done();
}

}  // namespace coilward
