// Reads and writes state.db: what was learned and decided. Small and precious: every commit is synced, the
// file is checked at open, and a damaged one is moved aside and its readable rows carried over.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "daemon/base/result.h"
#include "daemon/history/state_rows.h"
#include "daemon/history/store_options.h"

namespace coilward {

// One transaction. Outbox rows stand beside the findings they tell of: either both are kept or neither.
struct StateBatch {
  std::optional<std::string> snapshot;  // JSON of Pipeline::save() and whatever else the wiring adds
  std::optional<std::uint64_t> mark;    // spool sequence up to which all of this is complete
  UtcTime now = kNever;
  std::span<const Finding> findings;  // latest forms; each is also added to the finding's changes
  std::span<const NormalDraw> draws;
  std::span<const OutboxRow> outbox;
  std::span<const Acknowledgement> acknowledgements;
  std::span<const Pause> pauses;
  std::span<const TestReadingRow> test_readings;
  std::span<const std::pair<std::string, std::string>> values;  // key, value; an empty value removes the key
};

// Thread: one at a time. Any number of instances on one file; writers wait for each other up to 5 s. Errors:
// world unless said.
class StateStore {
 public:
  // site: the site's id, for the JSON of findings. bad_config: made by a newer program or something else.
  // not_found: read_only and there is no file.
  static Result<StateStore> open(const std::string& path, std::string site, StoreOptions options = {});
  StateStore(StateStore&&) noexcept;
  StateStore& operator=(StateStore&&) noexcept;
  ~StateStore();

  Result<bool> commit(const StateBatch& batch);

  Result<std::uint64_t> mark() const;
  Result<Snapshot> snapshot() const;
  // Latest forms, newest opened first.
  Result<std::vector<Finding>> findings(bool closed_too, std::size_t limit = 1000) const;
  Result<std::optional<Finding>> finding(const std::string& id) const;
  Result<std::vector<FindingChange>> changes(const std::string& id) const;  // oldest first
  // Forms of all findings after a place, in their order.
  Result<std::vector<PlacedFinding>> changes_after(std::int64_t place, std::size_t limit) const;
  Result<std::int64_t> last_change() const;              // its place; 0: there is none
  Result<std::vector<NormalDraw>> normal_draws() const;  // by zone
  Result<std::vector<Acknowledgement>> acknowledgements() const;
  Result<std::vector<Pause>> pauses(UtcTime ending_after) const;
  Result<std::vector<TestReadingRow>> test_readings(const std::string& finding) const;  // oldest first
  Result<std::optional<std::string>> value(const std::string& key) const;
  // Of keys that begin so, the last `limit` by key, last first.
  Result<std::vector<std::string>> values_under(const std::string& prefix, std::size_t limit) const;

  const Repair& repair() const;

 private:
  class Impl;
  explicit StateStore(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace coilward
