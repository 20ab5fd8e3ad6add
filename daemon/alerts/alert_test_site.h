// The site and the findings that the tests of this folder speak of.
#pragma once

#include <fmt/format.h>

#include <string>
#include <vector>

#include "daemon/alerts/alert_book.h"

namespace coilward {

inline UtcTime test_start() { return *parse_rfc3339("2026-05-04T06:12:09.250Z"); }
inline UtcTime at_hours(double hours) {
  return test_start() + Millis{static_cast<std::int64_t>(hours * 3600e3)};
}
inline UtcTime at_seconds(double seconds) { return at_hours(seconds / 3600); }

inline Config test_site(int zones = 16) {
  Config config;
  config.site = {"juniper-row-12", "Juniper Row 12", "America/Boise"};
  config.commons.push_back({"main", {2.08, 14, false}});
  for (int n = 1; n <= zones; ++n) {
    ZoneConfig zone;
    zone.number = n;
    zone.name = n == 4 ? "East hedge" : fmt::format("Zone {}", n);
    config.zones.push_back(zone);
  }
  return config;
}

inline Finding test_finding(int zone, Fault fault = Fault::open_circuit, UtcTime opened = test_start()) {
  Finding f;
  f.id = fmt::format("{}-z{}-{}", format_compact(opened), zone, fault_name(fault));
  f.fault = fault;
  f.zones = {zone};
  f.severity = Severity::urgent;
  f.probability = 0.984;
  f.alternatives = {{Fault::plunger_not_seated, 0.004}};
  f.where = {{"A", "B", 0.61}};
  f.opened = f.updated = opened;
  f.evidence = {{fmt::format("zone/{}/current", zone), 0.002, 0.231, 0.214, 0.248, "A", opened}};
  f.summary =
      fmt::format("Zone {} took no current when it was switched on; its neighbours are normal.", zone);
  return f;
}

inline Finding ended(Finding f, UtcTime when, std::string reason = "the zone draws normally again") {
  f.closed = f.updated = when;
  f.close_reason = std::move(reason);
  return f;
}

}  // namespace coilward
