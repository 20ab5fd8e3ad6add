// Tables of state.db. Inside this folder only. All have a rowid, so that a damaged file can be read from both
// ends (repair.h).
#pragma once

#include <array>

#include "daemon/history/database.h"

namespace coilward {

inline constexpr std::string_view kStateV1 = R"sql(
-- One row. body: JSON, zstd level 3.
CREATE TABLE snapshot (
  id INTEGER PRIMARY KEY CHECK (id = 1), taken_ms INTEGER NOT NULL, size INTEGER NOT NULL,
  body BLOB NOT NULL) STRICT;
CREATE TABLE mark (name TEXT PRIMARY KEY, value INTEGER NOT NULL) STRICT;
CREATE TABLE finding (
  id TEXT PRIMARY KEY, fault TEXT NOT NULL, opened_ms INTEGER NOT NULL, updated_ms INTEGER NOT NULL,
  closed_ms INTEGER, json TEXT NOT NULL) STRICT;
CREATE INDEX finding_open ON finding (opened_ms) WHERE closed_ms IS NULL;
-- Every form a finding was said in.
CREATE TABLE finding_change (
  id INTEGER PRIMARY KEY, finding TEXT NOT NULL, at_ms INTEGER NOT NULL, json TEXT NOT NULL,
  UNIQUE (finding, at_ms, json)) STRICT;
CREATE TABLE normal_draw (zone INTEGER PRIMARY KEY, updated_ms INTEGER NOT NULL, json TEXT NOT NULL) STRICT;
CREATE TABLE outbox (
  id INTEGER PRIMARY KEY, alert TEXT NOT NULL, notifier TEXT NOT NULL, json TEXT NOT NULL,
  due_ms INTEGER NOT NULL, next_ms INTEGER NOT NULL, attempts INTEGER NOT NULL DEFAULT 0,
  state TEXT NOT NULL DEFAULT 'pending', ended_ms INTEGER, words TEXT NOT NULL DEFAULT '',
  UNIQUE (alert, notifier)) STRICT;
CREATE INDEX outbox_pending ON outbox (notifier, next_ms) WHERE state = 'pending';
CREATE TABLE acknowledgement (
  finding TEXT PRIMARY KEY, by TEXT NOT NULL, at_ms INTEGER NOT NULL) STRICT;
CREATE TABLE pause (
  id INTEGER PRIMARY KEY, from_ms INTEGER NOT NULL, until_ms INTEGER NOT NULL, by TEXT NOT NULL,
  reason TEXT NOT NULL, UNIQUE (from_ms, until_ms, by, reason)) STRICT;
CREATE TABLE test_reading (
  id INTEGER PRIMARY KEY, finding TEXT NOT NULL, at_ms INTEGER NOT NULL, json TEXT NOT NULL,
  UNIQUE (finding, at_ms, json)) STRICT;
CREATE TABLE export_mark (exporter TEXT PRIMARY KEY, position TEXT NOT NULL) STRICT;
CREATE TABLE setting (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT;
)sql";

inline constexpr std::array<std::string_view, 1> kStateMigrations = {kStateV1};
inline constexpr std::array<std::string_view, 11> kStateSalvage = {
    "snapshot",        "mark",  "finding",      "finding_change", "normal_draw", "outbox",
    "acknowledgement", "pause", "test_reading", "export_mark",    "setting"};

inline constexpr FileKind kStateFile = {"state.db", 0x434f4953 /* COIS */, kStateMigrations, 4096,
                                        true,       kStateSalvage};

}  // namespace coilward
