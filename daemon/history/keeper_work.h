// What a keeper still has to write: units merged into one, smallest memory that keeps their meaning. Inside
// this folder only.
#pragma once

#include <iterator>

#include "daemon/history/keeper.h"

namespace coilward {

// What of it got onto the disk.
struct KeeperWritten {
  bool history = false;   // readings, runs and mark
  bool state = false;     // decisions
  bool snapshot = false;  // and the snapshot with its mark
};

struct KeeperWork {
  CommitUnit unit;                  // unit.mark: of the readings and runs, H to be
  std::uint64_t snapshot_mark = 0;  // of unit.snapshot, S to be
  std::size_t told_outbox = 0;      // the first so many rows of unit.outbox were reported as unsaved
  std::uint64_t dropped = 0;        // readings given up since the last look

  bool history_waits() const { return !unit.readings.empty() || !unit.runs.empty() || unit.mark != 0; }
  bool decisions_wait() const {
    return !unit.findings.empty() || !unit.draws.empty() || !unit.outbox.empty() ||
           !unit.acknowledgements.empty() || !unit.pauses.empty() || !unit.test_readings.empty() ||
           !unit.values.empty();
  }

  void forget(KeeperWritten written) {
    if (written.history) {
      unit.readings.clear();
      unit.runs.clear();
      unit.mark = 0;
    }
    if (written.state) {
      told_outbox = 0;
      CommitUnit rest;
      rest.readings = std::move(unit.readings);
      rest.runs = std::move(unit.runs);
      rest.mark = unit.mark;
      rest.snapshot = std::move(unit.snapshot);
      unit = std::move(rest);
    }
    if (written.snapshot) unit.snapshot.clear();
  }

  // Adds what came later.
  void add(CommitUnit&& later, std::size_t most_readings) {
    if (!later.snapshot.empty()) {
      unit.snapshot = std::move(later.snapshot);
      snapshot_mark = later.mark != 0 ? later.mark : unit.mark;
    }
    if (later.mark != 0) unit.mark = later.mark;
    append(unit.readings, later.readings);
    append(unit.runs, later.runs);
    append(unit.findings, later.findings);
    append(unit.draws, later.draws);
    append(unit.outbox, later.outbox);
    append(unit.acknowledgements, later.acknowledgements);
    append(unit.pauses, later.pauses);
    append(unit.test_readings, later.test_readings);
    append(unit.values, later.values);
    drop_oldest(most_readings);
  }
  void add(KeeperWork&& later, std::size_t most_readings) {
    const auto mark = later.snapshot_mark;
    const bool has_snapshot = !later.unit.snapshot.empty();
    dropped += later.dropped;
    add(std::move(later.unit), most_readings);
    if (has_snapshot) snapshot_mark = mark;
    later = {};
  }

 private:
  template <class T>
  static void append(std::vector<T>& to, std::vector<T>& from) {
    if (to.empty())
      to = std::move(from);
    else
      to.insert(to.end(), std::make_move_iterator(from.begin()), std::make_move_iterator(from.end()));
    from.clear();
  }

  // An eighth more than needed, so that it is not done again for every reading.
  void drop_oldest(std::size_t most) {
    auto& readings = unit.readings;
    if (readings.size() <= most) return;
    const auto drop = std::min(readings.size(), readings.size() - most + most / 8);
    readings.erase(readings.begin(), readings.begin() + static_cast<std::ptrdiff_t>(drop));
    dropped += drop;
  }
};

}  // namespace coilward
