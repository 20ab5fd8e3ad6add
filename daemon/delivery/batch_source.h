// Where an exporter's batches come from, and where it is written how far it has come. The real one reads
// history (history_batches.h).
#pragma once

#include <optional>
#include <string>

#include "daemon/base/result.h"
#include "daemon/base/time.h"

namespace coilward {

struct ExportBatch {
  std::string id;    // the same for the same stretch of history, whoever asks and however often
  std::string json;  // see plugins/exporters/README.md
  std::string mark;  // the source's own
};

// Of one exporter. Thread: one at a time. Errors: world; try again later.
class BatchSource {
 public:
  virtual ~BatchSource() = default;
  // The first batch not yet taken; nullopt: nothing is ready.
  virtual Result<std::optional<ExportBatch>> next(UtcTime now) = 0;
  // It is on the other side, or will never be: not given again.
  virtual Result<bool> taken(const ExportBatch& batch) = 0;
  // When next() may have something; kNever: it cannot be said.
  virtual UtcTime next_time(UtcTime now) = 0;
};

}  // namespace coilward
