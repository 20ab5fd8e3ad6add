// Reads history.db beside the writer: readings, thinned readings, runs. Each call pages through the file in
// read transactions of at most one day of one channel, so that a slow caller never holds the log open.
//
// `pending` are readings not committed yet (the wiring has them in memory): they are merged in as if they
// were.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "daemon/base/result.h"
#include "daemon/history/channel_names.h"
#include "daemon/history/rollup.h"
#include "daemon/pipeline.h"

namespace coilward {

// One step of a thinned course. [start, end); empty buckets are left out.
struct Bucket {
  UtcTime start = kNever;
  UtcTime end = kNever;
  RollUp values;
};

struct ReadingPage {
  std::vector<Reading> readings;  // ascending by time
  UtcTime next = kNever;          // where to go on; kNever: that was all
};

struct RunQuery {
  std::optional<int> zone;  // nullopt: all
  UtcTime from = kNever;    // by start: [from, until)
  UtcTime until = UtcTime::max();
  std::size_t limit = 1000;  // to go on: from = start of the last one + 1 ms (or see latest_first)
  bool latest_first = false;
};

// A run with its place in the order in which runs were kept.
struct PlacedRun {
  std::int64_t place = 0;  // ascending
  Run run;
};

// Thread: one at a time; any number of readers beside one writer. Errors: world.
class HistoryReader {
 public:
  // not_found: there is no such file yet.
  static Result<HistoryReader> open(const std::string& path, ChannelNames names);
  HistoryReader(HistoryReader&&) noexcept;
  HistoryReader& operator=(HistoryReader&&) noexcept;
  ~HistoryReader();

  // Readings of one channel in [from, until), at least an hour's and at most a day's worth at a time.
  Result<ReadingPage> page(Channel channel, UtcTime from, UtcTime until,
                           std::span<const Reading> pending = {}) const;
  // All of them, page by page; no transaction is open while `sink` runs, so it may be slow. sink returns
  // false to stop.
  Result<bool> each_reading(Channel channel, UtcTime from, UtcTime until, std::span<const Reading> pending,
                            const std::function<bool(std::span<const Reading>)>& sink) const;

  // Buckets between neighbouring edges (ascending; see edges.h). Edges on whole minutes are answered from
  // roll-ups, which outlive the raw readings; others from raw readings, and where those are gone from the
  // minutes, each counted where it starts.
  Result<std::vector<Bucket>> buckets(Channel channel, std::span<const UtcTime> edges,
                                      std::span<const Reading> pending = {}) const;

  Result<std::vector<Run>> runs(const RunQuery& query) const;
  Result<std::optional<Run>> latest_run(int zone) const;
  // Runs kept after a place, in their order, and started at `from` or later.
  Result<std::vector<PlacedRun>> runs_after(std::int64_t place, UtcTime from, std::size_t limit) const;
  Result<std::int64_t> last_run_place() const;  // 0: there is none

  // Channels that ever had a reading and that the configuration still knows.
  Result<std::vector<Channel>> channels() const;
  // First and last hour with readings or roll-ups of the channel; nullopt: none.
  struct Extent {
    UtcTime from = kNever;
    UtcTime until = kNever;
  };
  Result<std::optional<Extent>> extent(Channel channel) const;
  std::uint64_t mark() const;

 private:
  class Impl;
  explicit HistoryReader(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward
