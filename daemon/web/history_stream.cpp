#include "daemon/web/history_stream.h"

#include <algorithm>
#include <cmath>

#include "daemon/history/edges.h"
#include "daemon/web/stream_dress.h"

namespace coilward {
namespace {

constexpr Millis kPage = std::chrono::hours{6};  // 21,600 readings at one a second: some milliseconds
constexpr Millis kDay = std::chrono::hours{24};
constexpr std::size_t kStepsAtOnce = 1440;  // buckets in a piece, from roll-ups
constexpr std::size_t kRunsAtOnce = 250;

BodyPieces pieces(StreamForm form, std::string header, Batches batches) {
  auto dress = std::make_shared<StreamDress>(std::move(form), std::move(header), std::move(batches));
  return [dress] { return dress->next(); };
}

// Cut to where there is anything; since == until when there is nothing.
Result<TimeSpan> filled_part(const HistoryReader& reader, Channel channel, TimeSpan span,
                             const std::vector<Reading>& pending) {
  const auto extent = reader.extent(channel);
  if (!extent) return extent.error();
  UtcTime first = UtcTime::max(), last = kNever;
  if (*extent) first = (*extent)->from, last = (*extent)->until;
  for (const Reading& reading : pending) {
    first = std::min(first, reading.time);
    last = std::max(last, reading.time + Millis{1});
  }
  const TimeSpan cut{std::max(span.since, first), std::min(span.until, last)};
  return cut.since < cut.until ? cut : TimeSpan{from_ms(0), from_ms(0)};
}

// One channel after the other, a page at a time.
struct ReadingBatches {
  const SiteAccess& site;
  HistoryReader reader;
  std::vector<Channel> channels;
  TimeSpan span;
  ExportForm form;
  ChannelNames names;
  std::size_t at = 0;
  std::optional<TimeSpan> rest = std::nullopt;  // of the channel being read
  std::vector<Reading> pending = {};

  // false: no channel is left.
  Result<bool> find_channel() {
    while (!rest && at < channels.size()) {
      pending = site.pending_readings(channels[at]);
      auto filled = filled_part(reader, channels[at], span, pending);
      if (!filled) return filled.error();
      if (filled->since < filled->until)
        rest = *filled;
      else
        ++at;
    }
    return rest.has_value();
  }

  Result<std::optional<std::string>> operator()() {
    const auto found = find_channel();
    if (!found) return found.error();
    if (!*found) return std::optional<std::string>();
    const UtcTime until = std::min(rest->until, rest->since + kPage);
    const auto page = reader.page(channels[at], rest->since, until, pending);
    if (!page) return page.error();
    rest->since = page->next == kNever ? until : page->next;
    if (rest->since >= rest->until) rest.reset(), ++at;
    std::string lines;
    append_readings(lines, form, page->readings, names);
    return std::optional(std::move(lines));
  }
};

struct BucketBatches {
  HistoryReader reader;
  Channel channel;
  std::vector<UtcTime> edges;
  std::vector<Reading> pending;
  ExportForm form;
  ChannelNames names;
  std::size_t at = 0;

  // As many steps as a day has, or one.
  std::size_t steps() const {
    std::size_t n = 1;
    while (n < kStepsAtOnce && at + n + 1 < edges.size() && edges[at + n + 1] - edges[at] <= kDay) ++n;
    return n;
  }

  Result<std::optional<std::string>> operator()() {
    if (at + 1 >= edges.size()) return std::optional<std::string>();
    const std::size_t n = steps();
    const auto buckets = reader.buckets(channel, std::span(edges).subspan(at, n + 1), pending);
    if (!buckets) return buckets.error();
    at += n;
    std::string lines;
    append_buckets(lines, form, *buckets, channel, names);
    return std::optional(std::move(lines));
  }
};

bool same_run(const Run& a, const Run& b) { return a.zone == b.zone && a.start == b.start; }

// Runs of the file in the order of their starts; those not in the file yet take the place of an earlier form
// or come last.
struct RunBatches {
  HistoryReader reader;
  RunQuery query;
  std::vector<Run> pending;
  ExportForm form;
  bool file_done = false, done = false;

  // Of several zones that start together the page may hold some only: those wait for the next page.
  void leave_last_start(std::vector<Run>& runs) {
    const UtcTime last = runs.back().start;
    if (runs.front().start == last) {
      query.limit *= 2;
      runs.clear();
      return;
    }
    while (runs.back().start == last) runs.pop_back();
    query.from = last;
  }

  void put_newer_forms(std::vector<Run>& runs) {
    for (Run& run : runs) {
      const auto it =
          std::find_if(pending.begin(), pending.end(), [&](const Run& p) { return same_run(p, run); });
      if (it == pending.end()) continue;
      run = *it;
      pending.erase(it);
    }
  }

  Result<std::optional<std::string>> operator()() {
    if (done) return std::optional<std::string>();
    std::vector<Run> runs;
    if (file_done) {
      runs = std::move(pending);
      done = true;
    } else {
      auto page = reader.runs(query);
      if (!page) return page.error();
      runs = std::move(*page);
      file_done = runs.size() < query.limit;
      if (!file_done) leave_last_start(runs);
      put_newer_forms(runs);
    }
    std::string lines;
    append_runs(lines, form, runs);
    return std::optional(std::move(lines));
  }
};

std::vector<Run> pending_runs(const SiteAccess& site, int zone, TimeSpan span) {
  std::vector<Run> runs = site.pending_runs();
  std::erase_if(runs, [&](const Run& run) {
    return (zone >= 0 && run.zone != zone) || run.start < span.since || run.start >= span.until;
  });
  std::sort(runs.begin(), runs.end(), [](const Run& a, const Run& b) { return a.start < b.start; });
  return runs;
}

Result<std::vector<UtcTime>> edges_of(const SiteAccess& site, TimeSpan span, double every_s) {
  if (span.since >= span.until) return std::vector<UtcTime>();
  if (every_s == 86'400) return day_edges(span.since, span.until, site.config().site.timezone);
  return even_edges(span.since, span.until, every_s);
}

template <class BatchMaker>
Batches shared(BatchMaker maker) {  // std::function wants what it holds to be copyable
  auto held = std::make_shared<BatchMaker>(std::move(maker));
  return [held] { return (*held)(); };
}

}  // namespace

Result<BodyPieces> stream_readings(const SiteAccess& site, std::vector<Channel> channels, TimeSpan span,
                                   StreamForm form) {
  auto reader = site.open_history();
  if (!reader) return reader.error();
  ReadingBatches batches{site, std::move(*reader), std::move(channels),
                         span, form.form,          ChannelNames(site.config())};
  return pieces(form, readings_header(form.form), shared(std::move(batches)));
}

Result<BodyPieces> stream_buckets(const SiteAccess& site, Channel channel, TimeSpan span, double every_s,
                                  StreamForm form) {
  auto reader = site.open_history();
  if (!reader) return reader.error();
  auto pending = site.pending_readings(channel);
  const auto filled = filled_part(*reader, channel, span, pending);
  if (!filled) return filled.error();
  auto edges = edges_of(site, *filled, every_s);
  if (!edges) return edges.error();
  BucketBatches batches{std::move(*reader), channel,   std::move(*edges),
                        std::move(pending), form.form, ChannelNames(site.config())};
  return pieces(form, buckets_header(form.form), shared(std::move(batches)));
}

Result<BodyPieces> stream_runs(const SiteAccess& site, int zone, TimeSpan span, StreamForm form) {
  auto reader = site.open_history();
  if (!reader) return reader.error();
  RunQuery query;
  if (zone >= 0) query.zone = zone;
  query.from = span.since;
  query.until = span.until;
  query.limit = kRunsAtOnce;
  RunBatches batches{std::move(*reader), query, pending_runs(site, zone, span), form.form};
  return pieces(form, runs_header(form.form), shared(std::move(batches)));
}

}  // namespace coilward
