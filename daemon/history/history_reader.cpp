#include "daemon/history/history_reader.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "daemon/base/pipeline_json.h"
#include "daemon/history/bucket_filler.h"
#include "daemon/history/chunk.h"
#include "daemon/history/history_schema.h"
#include "daemon/history/hour_source.h"

namespace coilward {
namespace {

constexpr std::int64_t kHoursAPage = 24;
constexpr std::int64_t kNoChannel = -1;
constexpr std::int64_t kLastHour = 1 << 23;  // after 2900

UtcTime clamp_time(UtcTime time) { return std::clamp(time, from_ms(0), from_ms(8'000'000'000'000)); }

// What the edges of a question allow to be answered from.
enum class Grain : std::uint8_t { readings, minutes, hours };

Grain grain_of(std::span<const UtcTime> edges) {
  const auto all_on = [&](std::int64_t ms) {
    return std::all_of(edges.begin(), edges.end(), [ms](UtcTime t) { return to_ms(t) % ms == 0; });
  };
  return all_on(kHourMs) ? Grain::hours : all_on(kMinuteMs) ? Grain::minutes : Grain::readings;
}

std::vector<Reading> of_channel(std::span<const Reading> pending, Channel channel) {
  std::vector<Reading> some;
  for (const auto& reading : pending)
    if (reading.channel == channel) some.push_back(reading);
  return some;
}

void cut(std::vector<Reading>& readings, UtcTime from, UtcTime until) {
  std::erase_if(readings, [&](const Reading& r) { return r.time < from || r.time >= until; });
}

}  // namespace

class HistoryReader::Impl {
 public:
  Impl(std::unique_ptr<SQLite::Database> database, std::string path, ChannelNames names)
      : path_(std::move(path)),
        names_(std::move(names)),
        database_(std::move(database)),
        source_(*database_) {}

  template <class Body>
  auto in_transaction(Body&& body) -> Result<decltype(body())> {
    return guarded(path_, [&] {
      SQLite::Transaction transaction(*database_);
      auto value = body();
      transaction.commit();
      return value;
    });
  }

  ReadingPage page(Channel channel, UtcTime from, UtcTime until, std::span<const Reading> pending) {
    ReadingPage page;
    const auto id = id_of(channel);
    const auto first = next_hour(id, hour_of(from), pending);
    const auto end = std::min(hour_of(until - Millis{1}) + 1, first + kHoursAPage);
    for (auto hour = first; hour < end; ++hour) {
      const auto readings = hour_readings(hour, id, channel, pending);
      page.readings.insert(page.readings.end(), readings.begin(), readings.end());
    }
    if (hour_start(end) < until && first < end) page.next = hour_start(end);
    cut(page.readings, from, until);
    return page;
  }

  std::vector<Reading> hour_readings(std::int64_t hour, std::int64_t id, Channel channel,
                                     std::span<const Reading> pending) {
    std::vector<Reading> readings;
    if (id != kNoChannel) readings = source_.readings(hour, id, channel);
    const auto stored = readings.size();
    for (const auto& reading : pending)
      if (hour_of(reading.time) == hour) readings.push_back(reading);
    if (readings.size() > stored) sort_and_unite(readings);
    return readings;
  }

  // From here on, `pending` holds readings of this channel only.

  // The hours that a page of buckets spans, into the filler.
  std::int64_t fill(BucketFiller& filler, Channel channel, std::int64_t from, std::int64_t until, Grain grain,
                    std::span<const Reading> pending) {
    const auto id = id_of(channel);
    const auto first = next_hour(id, from, pending);
    const auto end = std::min(until, first + kHoursAPage * (grain == Grain::readings ? 1 : 31));
    for (auto hour = first; hour < end;) {
      if (grain == Grain::hours && fill_day(filler, hour, end, id, pending)) {
        hour += kHoursADay;
        continue;
      }
      fill_hour(filler, hour++, id, channel, grain != Grain::readings, pending);
    }
    return std::max(end, from + 1);
  }

  // false: the day cannot be answered as a whole.
  bool fill_day(BucketFiller& filler, std::int64_t hour, std::int64_t end, std::int64_t id,
                std::span<const Reading> pending) {
    if (hour % kHoursADay != 0 || hour + kHoursADay > end || id == kNoChannel) return false;
    const auto of_day = [&](const Reading& r) { return hour_of(r.time) / kHoursADay == hour / kHoursADay; };
    if (std::any_of(pending.begin(), pending.end(), of_day)) return false;
    const auto hours = source_.day(hour / kHoursADay, id);
    if (hours) filler.add_hours(*hours, hour / kHoursADay);
    return hours.has_value();
  }

  void fill_hour(BucketFiller& filler, std::int64_t hour, std::int64_t id, Channel channel, bool by_minutes,
                 std::span<const Reading> pending) {
    const auto rolled = id != kNoChannel ? source_.minutes(hour, id) : std::nullopt;
    const bool news = has_pending(pending, hour) || (id != kNoChannel && source_.has_batches(hour, id));
    // Last of all whether raw ones are there: that is a page to be read for each hour.
    if (rolled && ((by_minutes && !news) || !source_.has_packed(hour, id)))
      return filler.add_minutes(*rolled, hour);
    const auto readings = hour_readings(hour, id, channel, pending);
    if (by_minutes) return filler.add_minutes(minutes_of(readings, hour), hour);
    filler.add_readings(readings);
  }

  static bool has_pending(std::span<const Reading> pending, std::int64_t hour) {
    return std::any_of(pending.begin(), pending.end(),
                       [&](const Reading& r) { return hour_of(r.time) == hour; });
  }

  // The first hour at or after `from` that may have something: a channel silent for years costs nothing.
  std::int64_t next_hour(std::int64_t id, std::int64_t from, std::span<const Reading> pending) {
    if (id != kNoChannel && has_hour(id, from)) return from;
    auto next = std::numeric_limits<std::int64_t>::max() / 2;
    for (const auto& reading : pending)
      if (hour_of(reading.time) >= from) next = std::min(next, hour_of(reading.time));
    if (id == kNoChannel) return next;
    SQLite::Statement select(*database_,
                             "SELECT hour FROM rollup WHERE id >= ? AND channel = ? ORDER BY id LIMIT 1");
    select.bind(1, rollup_id(from, 0));
    select.bind(2, id);
    if (select.executeStep()) next = std::min(next, select.getColumn(0).getInt64());
    if (const auto hour = source_.hour_with_batches(from, HourSource::Way::forward, id))
      next = std::min(next, *hour);
    return next;
  }

  bool has_hour(std::int64_t id, std::int64_t hour) {
    SQLite::Statement select(*database_, "SELECT 1 FROM rollup WHERE id = ?");
    select.bind(1, rollup_id(hour, id));
    return select.executeStep();
  }

  std::vector<Run> runs(const RunQuery& query) {
    SQLite::Statement select(*database_,
                             fmt::format("SELECT json FROM run WHERE start_ms >= ? AND start_ms < ? {} "
                                         "ORDER BY start_ms {}, zone LIMIT ?",
                                         query.zone ? "AND zone = ?" : "", query.latest_first ? "DESC" : ""));
    int index = 0;
    select.bind(++index, to_ms(query.from));
    select.bind(++index, to_ms(query.until));
    if (query.zone) select.bind(++index, *query.zone);
    select.bind(++index, static_cast<std::int64_t>(query.limit));
    std::vector<Run> runs;
    while (select.executeStep()) {
      const auto json = Json::parse(select.getColumn(0).getString(), nullptr, false);
      if (!json.is_discarded()) runs.push_back(run_from_json(json));
    }
    return runs;
  }

  std::vector<PlacedRun> runs_after(std::int64_t place, UtcTime from, std::size_t limit) {
    SQLite::Statement select(*database_,
                             "SELECT id, json FROM run WHERE id > ? AND start_ms >= ? ORDER BY id LIMIT ?");
    select.bind(1, place);
    select.bind(2, to_ms(from));
    select.bind(3, static_cast<std::int64_t>(limit));
    std::vector<PlacedRun> runs;
    while (select.executeStep()) {
      const auto json = Json::parse(select.getColumn(1).getString(), nullptr, false);
      if (!json.is_discarded()) runs.push_back({select.getColumn(0).getInt64(), run_from_json(json)});
    }
    return runs;
  }

  std::int64_t last_run_place() {
    return database_->execAndGet("SELECT coalesce(max(id), 0) FROM run").getInt64();
  }

  std::vector<Channel> channels() {
    SQLite::Statement select(*database_, "SELECT name FROM channel ORDER BY name");
    std::vector<Channel> channels;
    while (select.executeStep())
      if (const auto channel = names_.channel(select.getColumn(0).getString())) channels.push_back(*channel);
    std::sort(channels.begin(), channels.end());
    return channels;
  }

  std::optional<Extent> extent(Channel channel) {
    const auto id = id_of(channel);
    const auto first = edge_hour(id, HourSource::Way::forward),
               last = edge_hour(id, HourSource::Way::backward);
    if (!first || !last) return std::nullopt;
    return Extent{hour_start(*first), hour_start(*last + 1)};
  }

  // From the outer end inwards: a channel in use is met soon.
  std::optional<std::int64_t> edge_hour(std::int64_t id, HourSource::Way way) {
    const bool forward = way == HourSource::Way::forward;
    SQLite::Statement select(*database_,
                             fmt::format("SELECT hour FROM rollup WHERE channel = ? ORDER BY id {} LIMIT 1",
                                         forward ? "ASC" : "DESC"));
    select.bind(1, id);
    const auto rolled = select.executeStep() ? std::optional(select.getColumn(0).getInt64()) : std::nullopt;
    const auto fresh = source_.hour_with_batches(forward ? 0 : kLastHour, way, id);
    if (!rolled || !fresh) return rolled ? rolled : fresh;
    return forward ? std::min(*rolled, *fresh) : std::max(*rolled, *fresh);
  }

  std::uint64_t mark() {
    SQLite::Statement select(*database_, "SELECT value FROM mark WHERE name = 'spool'");
    return select.executeStep() ? static_cast<std::uint64_t>(select.getColumn(0).getInt64()) : 0;
  }

  const std::string& path() const { return path_; }

 private:
  std::int64_t id_of(Channel channel) {
    SQLite::Statement select(*database_, "SELECT id FROM channel WHERE name = ?");
    select.bind(1, names_.text(channel));
    return select.executeStep() ? select.getColumn(0).getInt64() : kNoChannel;
  }

  std::string path_;
  ChannelNames names_;
  std::unique_ptr<SQLite::Database> database_;
  HourSource source_;
};

HistoryReader::HistoryReader(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
HistoryReader::HistoryReader(HistoryReader&&) noexcept = default;
HistoryReader& HistoryReader::operator=(HistoryReader&&) noexcept = default;
HistoryReader::~HistoryReader() = default;

Result<HistoryReader> HistoryReader::open(const std::string& path, ChannelNames names) {
  auto file = open_file(path, kHistoryFile, {OpenMode::read_only});
  if (!file) return file.error();
  return guarded(path, [&] {
    return HistoryReader(std::make_unique<Impl>(std::move(file->database), path, std::move(names)));
  });
}

Result<ReadingPage> HistoryReader::page(Channel channel, UtcTime from, UtcTime until,
                                        std::span<const Reading> pending) const {
  from = clamp_time(from);
  until = clamp_time(until);
  if (from >= until) return ReadingPage{};
  const auto news = of_channel(pending, channel);
  return impl_->in_transaction([&] { return impl_->page(channel, from, until, news); });
}

Result<bool> HistoryReader::each_reading(Channel channel, UtcTime from, UtcTime until,
                                         std::span<const Reading> pending,
                                         const std::function<bool(std::span<const Reading>)>& sink) const {
  for (auto at = from; at != kNever || at == from;) {
    auto found = page(channel, at, until, pending);
    if (!found) return found.error();
    if (!found->readings.empty() && !sink(found->readings)) return false;
    if (found->next == kNever) break;
    at = found->next;
  }
  return true;
}

Result<std::vector<Bucket>> HistoryReader::buckets(Channel channel, std::span<const UtcTime> edges,
                                                   std::span<const Reading> pending) const {
  if (edges.size() < 2) return std::vector<Bucket>{};
  if (!std::is_sorted(edges.begin(), edges.end())) return Error{Cause::bad_input, "bucket edges must ascend"};
  BucketFiller filler(edges);
  const auto news = of_channel(pending, channel);
  const auto grain = grain_of(edges);
  const auto until = hour_of(clamp_time(edges.back()) - Millis{1}) + 1;
  for (auto hour = hour_of(clamp_time(edges.front())); hour < until;) {
    auto next = impl_->in_transaction([&] { return impl_->fill(filler, channel, hour, until, grain, news); });
    if (!next) return next.error();
    hour = *next;
  }
  return filler.take();
}

Result<std::vector<Run>> HistoryReader::runs(const RunQuery& query) const {
  return impl_->in_transaction([&] { return impl_->runs(query); });
}

Result<std::optional<Run>> HistoryReader::latest_run(int zone) const {
  auto found = runs({.zone = zone, .limit = 1, .latest_first = true});
  if (!found) return found.error();
  return found->empty() ? std::optional<Run>() : std::optional(std::move(found->front()));
}

Result<std::vector<PlacedRun>> HistoryReader::runs_after(std::int64_t place, UtcTime from,
                                                         std::size_t limit) const {
  return impl_->in_transaction([&] { return impl_->runs_after(place, clamp_time(from), limit); });
}

Result<std::int64_t> HistoryReader::last_run_place() const {
  return impl_->in_transaction([&] { return impl_->last_run_place(); });
}

Result<std::vector<Channel>> HistoryReader::channels() const {
  return impl_->in_transaction([&] { return impl_->channels(); });
}

Result<std::optional<HistoryReader::Extent>> HistoryReader::extent(Channel channel) const {
  return impl_->in_transaction([&] { return impl_->extent(channel); });
}

std::uint64_t HistoryReader::mark() const {
  auto mark = impl_->in_transaction([&] { return impl_->mark(); });
  return mark ? *mark : 0;
}

}  // namespace coilward
