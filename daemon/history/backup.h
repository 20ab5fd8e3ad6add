// A checked copy of all files while the daemon runs, and the way back.
//
// A backup is a directory: history.db, state.db, notes.db, manifest.json (sizes, SHA-256, when).
// It appears under its name only when complete, synced and verified by opening; until then it is
// NAME.partial.
#pragma once

#include <cstdint>
#include <stop_token>
#include <string>
#include <vector>

#include "daemon/base/result.h"
#include "daemon/pipeline.h"

namespace coilward {

struct BackupFile {
  std::string name;
  std::uint64_t bytes = 0;
  std::string sha256;  // lower-case hex, as sha256sum prints it
};

struct BackupReport {
  std::string directory;
  UtcTime taken = kNever;
  std::vector<BackupFile> files;
};

// Copies the state of this moment: everything committed before the call. state.db first, so that the copy's
// history mark is at or after its state mark. A history.db or notes.db that is missing is left out. Needs the
// size of all files free at the target. conflict: the target exists. not_found: no state.db there. world: no
// space, the copy does not pass its check, or `stop` was asked for meanwhile: then nothing of it is left.
Result<BackupReport> back_up(const std::string& state_directory, const std::string& target, UtcTime now,
                             std::stop_token stop = {});

// Checks sizes, checksums and integrity of a backup. bad_input: what is wrong with it.
Result<BackupReport> verify_backup(const std::string& backup);

// Verifies, then puts the copies in place. What was there stays, with its -wal, as NAME.before-restore-TIME.
// conflict: a daemon runs there.
Result<BackupReport> restore_backup(const std::string& backup, const std::string& state_directory,
                                    UtcTime now);

}  // namespace coilward
