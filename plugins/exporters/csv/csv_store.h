// Appends batches to CSV files, one file a day and kind, each batch exactly once.
//
// How it stays exact: before a batch is written, the journal (`.coilward-csv.json`, replaced atomically)
// notes the batch and how long each file is; afterwards it notes the batch as done. A batch found
// half-written is cut off again. What counts as done is on the disk: files first, then the journal, each
// synced.
#pragma once

#include <atomic>
#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>

#include "plugins/common/reply.h"

namespace coilward_plugins {

inline constexpr std::size_t kBatchesRemembered = 64;

class CsvStore {
 public:
  // Throws std::invalid_argument with a sentence when the settings cannot work.
  explicit CsvStore(const nlohmann::json& settings);

  // done: all of it is on the disk, now or before. retry: the disk failed. refused: not a batch.
  Reply store(std::string_view batch_json);           // [one thread at a time]
  void interrupt() noexcept { interrupted_ = true; }  // [any thread] a batch that is half-written is undone

 private:
  using Lines = std::map<std::string, std::string>;  // file name -> what is to be appended

  std::string write(const std::string& id, const Lines& lines);
  std::string undo_half_written();
  std::string load_journal();
  std::string save_journal();
  std::string path(const std::string& name) const { return directory_ + "/" + name; }

  std::string directory_;
  bool sync_;
  nlohmann::json
      journal_;  // {"version": 1, "done": [ids], "writing": {"id", "sizes": {name: bytes}} or null}
  bool loaded_ = false;
  std::atomic<bool> interrupted_{false};
};

}  // namespace coilward_plugins
