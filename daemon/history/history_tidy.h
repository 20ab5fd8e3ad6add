// Upkeep of history.db in small steps: hours that are over become one chunk and a roll-up, old raw readings
// go, free pages are given back. Inside this folder only; throws SQLite::Exception.
#pragma once

#include <optional>

#include "daemon/history/database.h"
#include "daemon/history/hour_source.h"
#include "daemon/pipeline.h"

namespace coilward {

struct TidyStep {
  bool more = false;             // another step may have work
  std::uint64_t duplicates = 0;  // readings that were the same as another
};

class HistoryTidy {
 public:
  explicit HistoryTidy(SQLite::Database& database);

  // The first of these that has work, in one transaction.
  TidyStep step(UtcTime now, int raw_days);
  std::uint64_t damaged() const { return source_.damaged(); }

 private:
  struct Place {
    std::int64_t hour = 0;
    std::int64_t channel = 0;
  };
  std::optional<Place> first_before(std::int64_t hour);
  bool pack_hours(std::int64_t before_hour, TidyStep& step);
  std::uint64_t pack(Place place);
  void put_chunks(Place place, const std::vector<Reading>& readings);
  bool delete_old(std::int64_t oldest_hour, TidyStep& step);
  bool give_back_pages(TidyStep& step);

  SQLite::Database& database_;
  HourSource source_;
  Prepared over_, drop_batches_, drop_chunks_, put_chunk_, put_rollup_, delete_old_;
};

}  // namespace coilward
