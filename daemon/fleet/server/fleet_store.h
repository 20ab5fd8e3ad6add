// Writes what sites send: each message once, whoever and however often brings it, in one transaction a batch.
//
// A message is in the ledger (uplink) under (site, epoch, seq) or it is not; what it says goes into the
// tables beside it in the same transaction. Rows are written in the order of their keys, so that batches that
// overlap wait for each other and never in a circle. "have" is read after the commit, by another statement:
// it then sees what any worker has committed.
#pragma once

#include <set>
#include <string>
#include <utility>
#include <vector>

#include "daemon/fleet/server/postgres.h"
#include "daemon/fleet/uplink/uplink_message.h"

namespace coilward {

struct SiteMessage {
  std::string site;  // by the topic
  UplinkHead head;
  std::string body;  // JSON as PostgreSQL can hold it; see site_message
};

// From a payload: a body that cannot be used becomes an empty one of kind `lost` (its number must not hold up
// the others). bad_input: there is not even a number.
Result<SiteMessage> site_message(std::string site, std::string_view payload, bool& unreadable);

struct SiteState {
  std::string site;
  bool online = false;
  UtcTime at = kNever;  // by the site's clock, or when it came
};

struct SiteHave {
  std::string site;
  UplinkHave have;
};

struct IngestCounts {
  std::uint64_t fresh = 0;    // messages written
  std::uint64_t again = 0;    // that were there before
  std::uint64_t refused = 0;  // whose body the database does not take; their numbers are
};

// Thread: one at a time. Errors: world; the caller makes another connection when it is broken, and the sites
// send again.
class FleetStore {
 public:
  explicit FleetStore(Postgres database) : database_(std::move(database)) {}

  Result<IngestCounts> ingest(std::vector<SiteMessage> messages);
  // What to answer the sites of these (site, epoch).
  using Touched = std::set<std::pair<std::string, std::int64_t>>;
  Result<std::vector<SiteHave>> have(const Touched& touched);
  Result<bool> set_states(const std::vector<SiteState>& states);
  // Ledger rows that are confirmed and old go, by one worker at a time.
  Result<bool> forget_old();
  bool broken() const { return database_.broken(); }

 private:
  Result<IngestCounts> ingest_one_by_one(std::vector<SiteMessage>& messages);
  Result<IngestCounts> write(const std::vector<SiteMessage>& messages);
  Result<bool> ensure_months(const std::vector<SiteMessage>& messages);
  Result<bool> apply(const std::string& fresh);

  Postgres database_;
  std::set<std::string> months_;  // that have their part of history
};

}  // namespace coilward
