// Tables of notes.db. Inside this folder only.
#pragma once

#include <array>

#include "daemon/history/database.h"

namespace coilward {

// Pictures apart, so that a list of notes does not pass over them.
inline constexpr std::string_view kNotesV1 = R"sql(
CREATE TABLE note (
  id INTEGER PRIMARY KEY AUTOINCREMENT, finding TEXT NOT NULL, place TEXT NOT NULL, place_to TEXT NOT NULL,
  at_ms INTEGER NOT NULL, by TEXT NOT NULL, words TEXT NOT NULL, mime TEXT NOT NULL, width INTEGER NOT NULL,
  height INTEGER NOT NULL, bytes INTEGER NOT NULL) STRICT;
CREATE INDEX note_finding ON note (finding, at_ms);
CREATE TABLE picture (id INTEGER PRIMARY KEY, content BLOB NOT NULL) STRICT;
)sql";

inline constexpr std::array<std::string_view, 1> kNotesMigrations = {kNotesV1};
inline constexpr std::array<std::string_view, 2> kNotesSalvage = {"note", "picture"};

// Larger pages than state.db's: a picture is thousands of those.
inline constexpr FileKind kNotesFile = {"notes.db", 0x434f494e /* COIN */, kNotesMigrations, 16384,
                                        false,      kNotesSalvage};

}  // namespace coilward
