// What the contractor's page shows, read from the fleet's copy.
#pragma once

#include <string>
#include <vector>

#include "daemon/fleet/server/postgres.h"
#include "daemon/pipeline.h"

namespace coilward {

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
  std::vector<FleetFinding> open, closed;  // newest first; closed: the latest
  std::vector<FleetZone> zones;
  std::vector<SiteTroubleLine> troubles;
};

struct FleetTotals {
  std::int64_t sites = 0, online = 0, open_findings = 0;
};

// Thread: one at a time. Errors: world, not_found.
class FleetViews {
 public:
  FleetViews(Postgres database, double silent_h) : database_(std::move(database)), silent_h_(silent_h) {}
  Result<SiteList> sites(const SiteFilter& filter);
  Result<SiteDetail> site(const std::string& site);
  Result<bool> acknowledge(const std::string& site, const std::string& finding, const std::string& who);
  Result<FleetTotals> totals();
  bool broken() const { return database_.broken(); }

 private:
  Result<bool> read_findings(SiteDetail& detail);
  Result<bool> read_zones(SiteDetail& detail);
  Postgres database_;
  const double silent_h_;
};

}  // namespace coilward
