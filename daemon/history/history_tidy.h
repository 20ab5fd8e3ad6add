// Upkeep of history.db in small steps: hours that are over become one chunk and a roll-up, days that are over
// a roll-up of their hours, old raw readings go, free pages are given back. Inside this folder only; throws
// SQLite::Exception.
#pragma once

#include <vector>

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
    std::int64_t time = 0;  // hour or day
    std::int64_t channel = 0;
  };
  bool pack_hour(std::int64_t before_hour, TidyStep& step);
  std::uint64_t pack(Place place, std::vector<KeptPart>& parts);
  bool roll_days(std::int64_t before_day, TidyStep& step);
  void roll_day(Place place);
  bool delete_old(std::int64_t oldest_hour, TidyStep& step);
  bool give_back_pages(TidyStep& step);

  SQLite::Database& database_;
  HourSource source_;
  Prepared over_, due_, drop_batches_, drop_chunks_, put_chunk_, put_rollup_, make_due_, drop_day_, put_day_,
      drop_due_, delete_old_;
};

}  // namespace coilward
