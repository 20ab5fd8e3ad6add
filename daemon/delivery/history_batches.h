// An exporter's batches out of the two databases: history in stretches of kStretch, in order.
//
// A stretch is handed over once `settle` has passed since its end, when everything of it is committed. Its id
// says site and stretch, so that the same one has the same id whenever it is asked for. A new exporter starts
// with the stretch in which it is first asked. Empty stretches are passed over, and the mark is written for
// them once an hour only.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "daemon/base/pipeline_json.h"
#include "daemon/delivery/batch_source.h"
#include "daemon/history/channel_names.h"
#include "daemon/history/file_tools.h"
#include "daemon/history/history_reader.h"
#include "daemon/history/outbox.h"
#include "daemon/history/state_store.h"

namespace coilward {

inline constexpr Millis kStretch = std::chrono::minutes{5};
inline constexpr Millis kMarkEvery = std::chrono::hours{1};    // while nothing happens
inline constexpr Millis kLongestRun = std::chrono::hours{24};  // a run is looked for this long before its end
inline constexpr std::size_t kMostRuns = 10000;                // in the day before the end of a stretch
inline constexpr int kStretchesAtOnce = 288;                   // empty ones passed over in one call: a day

struct HistoryFiles {
  std::string history;  // history.db
  std::string state;    // state.db
};

class HistoryBatches final : public BatchSource {
 public:
  // settle: Config::history.commit_s and a minute. The files need not exist yet.
  HistoryBatches(HistoryFiles files, std::string site, ChannelNames names, std::string exporter,
                 Millis settle);

  Result<std::optional<ExportBatch>> next(UtcTime now) override;
  Result<bool> taken(const ExportBatch& batch) override;
  UtcTime next_time(UtcTime now) override;

 private:
  struct Open {
    HistoryReader history;
    StateStore state;
    Outbox marks;
    std::array<std::optional<FileIdentity>, 2> which;
  };

  Result<bool> open();
  std::array<std::optional<FileIdentity>, 2> which() const;
  Result<bool> find_position(UtcTime now);
  Result<bool> write_mark();
  Result<std::optional<ExportBatch>> batch(UtcTime from, UtcTime until);
  Result<bool> add_readings(Json& list, UtcTime from, UtcTime until);
  Result<bool> add_runs(Json& list, UtcTime from, UtcTime until);
  Result<bool> add_findings(Json& list, UtcTime from, UtcTime until);

  HistoryFiles files_;
  std::string site_;
  ChannelNames names_;
  std::string exporter_;
  Millis settle_;
  std::optional<Open> open_;
  UtcTime position_ = kNever;  // start of the next stretch
  UtcTime marked_ = kNever;    // as it stands in the table
};

}  // namespace coilward
