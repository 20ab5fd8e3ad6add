// Tables of history.db. Inside this folder only.
//
// Filed by hour first: a commit then touches the end of the file instead of one page for each channel, and
// retention deletes one stretch. Pages of 4 KB: a commit changes a handful, and each is written twice, into
// the log and into the file (tools/bench measures both; files made by earlier builds keep their 8 KB).
#pragma once

#include <array>

#include "daemon/history/database.h"

namespace coilward {

inline constexpr std::string_view kHistoryV1 = R"sql(
CREATE TABLE channel (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE) STRICT;
-- Readings of hours that are not over: one row for each commit and channel. body: a chunk.
CREATE TABLE batch (
  hour INTEGER NOT NULL, channel INTEGER NOT NULL, part INTEGER NOT NULL, body BLOB NOT NULL,
  PRIMARY KEY (hour, channel, part)) STRICT, WITHOUT ROWID;
-- Readings of hours that are over. id = hour * 2^20 + channel * 2^8 + part. hour: since 1970, UTC.
CREATE TABLE chunk (
  id INTEGER PRIMARY KEY, body BLOB NOT NULL,
  hour INTEGER GENERATED ALWAYS AS (id >> 20) VIRTUAL,
  channel INTEGER GENERATED ALWAYS AS ((id >> 8) & 4095) VIRTUAL) STRICT;
-- The same hours, rolled up: whole hour in columns, its minutes packed. id = hour * 2^12 + channel.
CREATE TABLE rollup (
  id INTEGER PRIMARY KEY, count INTEGER NOT NULL, lowest REAL, highest REAL, sum REAL NOT NULL,
  minutes BLOB NOT NULL,
  hour INTEGER GENERATED ALWAYS AS (id >> 12) VIRTUAL,
  channel INTEGER GENERATED ALWAYS AS (id & 4095) VIRTUAL) STRICT;
CREATE TABLE run (
  id INTEGER PRIMARY KEY, zone INTEGER NOT NULL, start_ms INTEGER NOT NULL, end_ms INTEGER NOT NULL,
  ended TEXT NOT NULL, hold_amps REAL, json TEXT NOT NULL, UNIQUE (zone, start_ms)) STRICT;
CREATE INDEX run_start ON run (start_ms, zone);
CREATE TABLE mark (name TEXT PRIMARY KEY, value INTEGER NOT NULL) STRICT;
)sql";

// One row for each commit and hour, in the order of commits, and one for each hour that is over: with all
// channels in it a row fills its pages. The days, rolled up in their 24 hours, one channel's beside one
// another: a year of a zone is then read from a few neighbouring pages. day_due: days whose row is missing or
// out of date. From this version on chunks are of form 2 (chunk.h), which earlier programs cannot read.
inline constexpr std::string_view kHistoryV2 = R"sql(
-- id = hour * 2^20 + part. channel: NULL where body is the parts of all channels (row_parts.h); rows of version
-- 1 have their channel, and body is its chunk. In the same way a row of table chunk whose channel is 4095 is the
-- parts of all; others are of version 1.
CREATE TABLE batch_by_commit (id INTEGER PRIMARY KEY, channel INTEGER, body BLOB NOT NULL) STRICT;
INSERT INTO batch_by_commit SELECT
  hour * 1048576 + row_number() OVER (PARTITION BY hour ORDER BY part, channel) - 1, channel, body FROM batch;
DROP TABLE batch;
ALTER TABLE batch_by_commit RENAME TO batch;
-- id = channel * 2^20 + days since 1970, UTC.
CREATE TABLE day (id INTEGER PRIMARY KEY, hours BLOB NOT NULL) STRICT;
CREATE TABLE day_due (day INTEGER NOT NULL, channel INTEGER NOT NULL, PRIMARY KEY (day, channel)) STRICT,
  WITHOUT ROWID;
INSERT INTO day_due SELECT DISTINCT (id >> 12) / 24, id & 4095 FROM rollup;
)sql";

inline constexpr std::array<std::string_view, 2> kHistoryMigrations = {kHistoryV1, kHistoryV2};

// Nothing is salvaged: what is precious is in state.db, and the damaged file is kept.
inline constexpr FileKind kHistoryFile = {
    "history.db", 0x434f4948 /* COIH */, kHistoryMigrations, 4096, false, {}};

inline constexpr std::int64_t kMostChannels = 4096;
inline constexpr std::int64_t kMostParts = 256;

inline std::int64_t chunk_id(std::int64_t hour, std::int64_t channel, std::int64_t part = 0) {
  return hour * (kMostChannels * kMostParts) + channel * kMostParts + part;
}
inline constexpr std::int64_t kAllChannels = kMostChannels - 1;
inline std::int64_t hour_row_id(std::int64_t hour) { return chunk_id(hour, kAllChannels); }
inline std::int64_t rollup_id(std::int64_t hour, std::int64_t channel) {
  return hour * kMostChannels + channel;
}
inline std::int64_t batch_id(std::int64_t hour) { return hour << 20; }
inline std::int64_t day_id(std::int64_t day, std::int64_t channel) { return channel * (1 << 20) + day; }

}  // namespace coilward
