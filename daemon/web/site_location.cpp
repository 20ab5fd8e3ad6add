#include "daemon/web/site_location.h"

#include <algorithm>
#include <nlohmann/json.hpp>

namespace coilward {
namespace {

// Below this a zone does not draw: a sensor's zero, a leak. Common practice: the smallest coil takes 0.1 A.
constexpr double kDrawsAmps = 0.03, kDrawsShare = 0.3;

bool concerns(const Finding& finding, const Config& config, const RepairTarget& target) {
  const int* zone = std::get_if<int>(&target);
  if (zone) return std::ranges::count(finding.zones, *zone) > 0;
  const int common = config.common_by_id(std::get<std::string>(target));
  return std::ranges::any_of(finding.zones, [&](int number) {
    const ZoneConfig* z = config.zone(number);
    return z && z->common == common;
  });
}

// What runs after a repair say of it: null, when there was none. The finding that is kept may be older than
// the latest run, when that changed nothing.
Json proved(const Finding& finding, UtcTime repaired, const std::vector<ZoneState>& zones) {
  if (repaired == kNever) return nullptr;
  if (!finding.is_open()) return finding.closed >= repaired;
  if (finding.repair) return finding.repair->proved ? Json(*finding.repair->proved) : Json(nullptr);
  for (const Evidence& e : finding.evidence)
    if (e.run != kNever && e.run > repaired) return false;
  for (const ZoneState& zone : zones)
    if (std::ranges::count(finding.zones, zone.number) > 0 && zone.last_run &&
        zone.last_run->start > repaired)
      return false;
  return nullptr;
}

}  // namespace

LocateInput locate_input(const SiteAccess& site, const Finding& finding, const KeptReadings& kept) {
  const auto zones = site.zones();
  LocateInput input{site.config(), finding, neighbours_of(zones, finding), kNotMeasured, {}};
  const int measured_zone = zone_to_measure(site.config(), finding);
  for (const ZoneState& zone : zones)
    if (zone.number == measured_zone) input.hold_amps = zone.normal.hold_amps;
  input.readings.assign(kept.readings.begin() + static_cast<std::ptrdiff_t>(kept.first), kept.readings.end());
  return input;
}

KeptReadings kept_readings(const std::vector<TestReadingRow>& rows) {
  KeptReadings kept;
  for (const TestReadingRow& row : rows) {
    const Json json = Json::parse(row.json, nullptr, false);
    if (json.is_object() && json.contains("repaired")) {
      kept.first = kept.readings.size();
      kept.repaired = row.at;
      kept.repaired_by = json.value("by", Json()).is_string() ? json["by"].get<std::string>() : std::string();
    } else if (auto reading = reading_from_text(row.json, row.at)) {
      kept.readings.push_back(std::move(*reading));
    }
  }
  return kept;
}

std::vector<TestReadingRow> repair_marks(const std::vector<Finding>& open, const Config& config,
                                         const RepairTarget& target, const std::string& who, UtcTime at) {
  std::vector<TestReadingRow> marks;
  const std::string json =
      Json{{"repaired", true}, {"by", who}}.dump(-1, ' ', false, Json::error_handler_t::replace);
  for (const Finding& finding : open)
    if (finding.is_open() && concerns(finding, config, target)) marks.push_back({finding.id, at, json});
  return marks;
}

std::vector<Neighbour> neighbours_of(const std::vector<ZoneState>& zones, const Finding& finding) {
  std::vector<Neighbour> list;
  for (const ZoneState& zone : zones) {
    if (!zone.last_run || std::ranges::count(finding.zones, zone.number) > 0) continue;
    const double amps = zone.last_run->hold_amps, normal = zone.normal.hold_amps;
    const double least = std::max(kDrawsAmps, measured(normal) ? kDrawsShare * normal : 0);
    list.push_back({zone.number, measured(amps) && amps > least, zone.last_run->start >= finding.opened});
  }
  return list;
}

Json readings_to_json(const SiteAccess& site, const Finding& finding, const KeptReadings& kept,
                      const Location& location) {
  Json list = Json::array();
  for (std::size_t i = 0; i < kept.readings.size(); ++i) {
    Json json = {{"taken", time_or_null(kept.readings[i].taken)}};
    json.update(reading_to_json(kept.readings[i]));
    const bool counts = i >= kept.first;
    json["counts"] = counts;
    json["explained"] = counts ? Json(static_cast<bool>(location.explained[i - kept.first])) : Json(nullptr);
    list.push_back(std::move(json));
  }
  return {{"finding", finding.id},
          {"repaired", time_or_null(kept.repaired)},
          {"proved", proved(finding, kept.repaired, site.zones())},
          {"proof", finding.repair ? finding.repair->words : std::string()},
          {"readings", std::move(list)},
          {"words", location.odd}};
}

}  // namespace coilward
