// What the contractor's page shows, read from the fleet's copy: nothing is read without saying whose it is.
#pragma once

#include <string>
#include <vector>

#include "daemon/fleet/server/postgres.h"
#include "daemon/pipeline.h"

namespace coilward {

// Whose sites somebody sees. Each question asks for these alone, and sets them for its transaction, where the
// database's own policies (schema_2.sql) look at them again.
struct FleetScope {
  std::string organisation;
  std::string site = {};  // of a homeowner; empty: all of the organisation
};

// Why a site is where it is in the list, the most pressing last.
enum class VisitNeed { none = 0, watch = 1, soon = 2, silent = 3, urgent = 4 };

struct SiteLine {
  std::string site, name;
  VisitNeed need = VisitNeed::none;
  bool online = false;
  UtcTime heard = kNever;
  int open = 0, acknowledged = 0;
  int zones_down = 0;
  UtcTime dry_since = kNever;  // of the zones that are down, the one that had no water for longest
  std::string words;           // of its most severe open finding
  // Who goes there; until all that was open then is over and the site was heard again.
  std::string assigned_to;
};

struct SiteList {
  std::vector<SiteLine> lines;   // of one page
  std::int64_t matching = 0;     // with the filter
  std::int64_t by_need[5] = {};  // all sites
  std::int64_t all = 0;
};

struct SiteFilter {
  std::optional<VisitNeed> need;
  std::string text;  // in the name or id
  int page = 0;      // from 0
};
inline constexpr int kSitesAPage = 50;

struct FleetFinding {
  Finding finding;
  std::string acknowledged_by;
  UtcTime acknowledged_at = kNever;
};

struct FleetZone {
  int zone = 0;
  std::string name;
  NormalDraw normal;
  UtcTime last_run = kNever, last_water = kNever;
};

struct SiteTroubleLine {
  std::string stage, why;
};

struct SiteDetail {
  SiteLine line;
  std::string timezone, version;
  std::string assigned_by;
  UtcTime assigned_at = kNever;
  std::vector<FleetFinding> open, closed;  // newest first; closed: the latest
  std::vector<FleetZone> zones;
  std::vector<SiteTroubleLine> troubles;
};

struct FleetTotals {
  std::int64_t sites = 0, online = 0, open_findings = 0;
};

// Thread: one at a time. Errors: world, not_found (of what the scope does not reach, too). The connection is
// one of the role kPageRole (migrations.h).
class FleetViews {
 public:
  FleetViews(Postgres database, double silent_h) : database_(std::move(database)), silent_h_(silent_h) {}
  Result<SiteList> sites(const FleetScope& scope, const SiteFilter& filter);
  Result<SiteDetail> site(const FleetScope& scope, const std::string& site);
  Result<std::string> organisation_name(const FleetScope& scope);
  // Whom a site can be assigned to, by name.
  Result<std::vector<std::string>> colleagues(const FleetScope& scope);
  Result<bool> acknowledge(const FleetScope& scope, const std::string& site, const std::string& finding,
                           const std::string& who);
  // to: empty for nobody.
  Result<bool> assign(const FleetScope& scope, const std::string& site, const std::string& to,
                      const std::string& who);
  // Of all organisations, without a name.
  Result<FleetTotals> totals();
  Postgres& database() { return database_; }

 private:
  template <class Work>
  auto within(const FleetScope& scope, const Work& work) -> decltype(work());
  Result<SiteDetail> read_site(const FleetScope& scope, const std::string& site);
  Result<bool> read_findings(SiteDetail& detail);
  Result<bool> read_zones(SiteDetail& detail);
  Postgres database_;
  const double silent_h_;
};

}  // namespace coilward
