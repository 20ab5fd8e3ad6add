// Tables of history.db. Inside this folder only.
//
// Filed by hour first: a commit then touches the end of the file instead of one page for each channel, and
// retention deletes one stretch. Pages of 8 KB: at 24 zones and 1 Hz, 0.84 bytes a reading and 36 MB written
// a day, roll-ups and log included; 4 KB gives 1.11 and 30, 16 KB gives 0.79 and 48 (measured, commits of 300
// s).
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

inline constexpr std::array<std::string_view, 1> kHistoryMigrations = {kHistoryV1};

// Nothing is salvaged: what is precious is in state.db, and the damaged file is kept.
inline constexpr FileKind kHistoryFile = {
    "history.db", 0x434f4948 /* COIH */, kHistoryMigrations, 8192, false, {}};

inline constexpr std::int64_t kMostChannels = 4096;
inline constexpr std::int64_t kMostParts = 256;

inline std::int64_t chunk_id(std::int64_t hour, std::int64_t channel, std::int64_t part = 0) {
  return hour * (kMostChannels * kMostParts) + channel * kMostParts + part;
}
inline std::int64_t rollup_id(std::int64_t hour, std::int64_t channel) {
  return hour * kMostChannels + channel;
}

}  // namespace coilward
