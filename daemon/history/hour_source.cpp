#include "daemon/history/hour_source.h"

#include <set>

#include "daemon/history/chunk.h"
#include "daemon/history/history_schema.h"

namespace coilward {

HourSource::HourSource(SQLite::Database& database)
    : chunks_(database, "SELECT body FROM chunk WHERE id >= ? AND id < ? ORDER BY id"),
      hour_row_(database, "SELECT body FROM chunk WHERE id = ?"),
      batches_(database, "SELECT id, channel, body FROM batch WHERE id >= ? AND id < ? ORDER BY id"),
      later_(database, "SELECT id, channel, body FROM batch WHERE id >= ? ORDER BY id"),
      earlier_(database, "SELECT id, channel, body FROM batch WHERE id < ? ORDER BY id DESC"),
      minutes_(database, "SELECT minutes FROM rollup WHERE id = ?"),
      total_(database, "SELECT count, lowest, highest, sum FROM rollup WHERE id = ?"),
      day_(database, "SELECT hours FROM day WHERE id = ?") {}

std::vector<Reading> HourSource::readings(std::int64_t hour, std::int64_t channel_id, Channel channel) {
  auto found = packed(hour, channel_id, channel);
  add_batches(hour, channel_id, channel, found);
  sort_and_unite(found);
  return found;
}

std::vector<Reading> HourSource::packed(std::int64_t hour, std::int64_t channel_id, Channel channel) {
  std::vector<Reading> found;
  each_packed(hour, channel_id, [&](std::string_view chunk) { return unpack(chunk, channel, found), true; });
  return found;
}

void HourSource::each_packed(std::int64_t hour, std::int64_t channel_id,
                             const std::function<bool(std::string_view)>& visit) {
  bool more = true;
  hour_row_.start(hour_row_id(hour));
  if (hour_row_.next()) {
    const auto parts = take_parts(bytes_of(hour_row_.column(0)));
    damaged_ += !parts;
    for (std::size_t i = 0; parts && more && i < parts->size(); ++i)
      if ((*parts)[i].channel == channel_id) more = visit((*parts)[i].chunk);
  }
  hour_row_.done();
  chunks_.start(chunk_id(hour, channel_id), chunk_id(hour, channel_id + 1));
  while (more && chunks_.next()) more = visit(bytes_of(chunks_.column(0)));
  chunks_.done();
}

std::vector<KeptPart> HourSource::hour_row(std::int64_t hour) {
  std::vector<KeptPart> kept;
  hour_row_.start(hour_row_id(hour));
  if (hour_row_.next())
    if (const auto parts = take_parts(bytes_of(hour_row_.column(0))))
      for (const auto& part : *parts) kept.push_back({part.channel, std::string(part.chunk)});
  hour_row_.done();
  return kept;
}

void HourSource::add_batches(std::int64_t hour, std::int64_t channel_id, Channel channel,
                             std::vector<Reading>& to) {
  batches_.start(batch_id(hour), batch_id(hour + 1));
  each_part(batches_, [&](std::int64_t, const RowPart& part) {
    if (part.channel == channel_id) unpack(part.chunk, channel, to);
    return true;
  });
}

bool HourSource::has_batches(std::int64_t hour, std::int64_t channel_id) {
  return any_batches(hour, hour + 1, channel_id);
}

bool HourSource::any_batches(std::int64_t from, std::int64_t until, std::int64_t channel_id) {
  bool any = false;
  batches_.start(batch_id(from), batch_id(until));
  each_part(batches_, [&](std::int64_t, const RowPart& part) { return !(any = part.channel == channel_id); });
  return any;
}

std::vector<std::int64_t> HourSource::channels_of_batches(std::int64_t hour) {
  std::set<std::int64_t> channels;
  batches_.start(batch_id(hour), batch_id(hour + 1));
  damaged_ += each_part(
      batches_, [&](std::int64_t, const RowPart& part) { return channels.insert(part.channel), true; });
  return {channels.begin(), channels.end()};
}

std::optional<std::int64_t> HourSource::hour_with_batches(std::int64_t from, Way way,
                                                          std::int64_t channel_id) {
  auto& select = way == Way::forward ? later_ : earlier_;
  select.start(way == Way::forward ? batch_id(from) : batch_id(from + 1));
  std::optional<std::int64_t> found;
  each_part(select, [&](std::int64_t hour, const RowPart& part) {
    if (part.channel == channel_id) found = hour;
    return !found;
  });
  return found;
}

bool HourSource::has_packed(std::int64_t hour, std::int64_t channel_id) {
  bool any = false;
  each_packed(hour, channel_id, [&](std::string_view) { return any = true, false; });
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

std::optional<RollUp> HourSource::total(std::int64_t hour, std::int64_t channel_id) {
  total_.start(rollup_id(hour, channel_id));
  std::optional<RollUp> found;
  if (total_.next()) {
    found.emplace();
    found->count = static_cast<std::uint32_t>(total_.column(0).getInt64());
    if (found->count > 0) {  // SQLite keeps NaN as NULL
      found->lowest = total_.column(1).getDouble();
      found->highest = total_.column(2).getDouble();
    }
    found->sum = total_.column(3).getDouble();
  }
  total_.done();
  return found;
}

std::optional<DayHours> HourSource::day(std::int64_t day, std::int64_t channel_id) {
  if (any_batches(day * kHoursADay, (day + 1) * kHoursADay, channel_id)) return std::nullopt;
  day_.start(day_id(day, channel_id));
  std::optional<DayHours> found;
  if (day_.next()) {
    const auto hours = unpack_day(bytes_of(day_.column(0)));
    if (hours) found = *hours;
    damaged_ += !hours;
  }
  day_.done();
  return found;
}

std::uint64_t HourSource::each_part(Prepared& select, const Visit& visit) {
  std::uint64_t damaged = 0;
  for (bool more = true; more && select.next();) {
    const auto hour = select.column(0).getInt64() >> 20;
    const auto body = bytes_of(select.column(2));
    if (!select.column(1).isNull()) {  // of version 1
      more = visit(hour, {select.column(1).getInt64(), body});
      continue;
    }
    const auto parts = take_parts(body);
    damaged += !parts;
    for (std::size_t i = 0; parts && more && i < parts->size(); ++i) more = visit(hour, (*parts)[i]);
  }
  select.done();
  return damaged;
}

void HourSource::unpack(std::string_view chunk, Channel channel, std::vector<Reading>& to) {
  if (!unpack_chunk(chunk, channel, to)) ++damaged_;
}

}  // namespace coilward
