#include "daemon/fleet/server/fleet_views.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "daemon/base/pipeline_json.h"

namespace coilward {
namespace {

// $1: hours of silence. A finding that was acknowledged, and troubles of coilward itself, are worth a look
// only.
constexpr const char* kRanked =
    "with o as (select site, max(severity) filter (where acknowledged_at is null) worst, count(*) n, "
    "count(acknowledged_at) acknowledged from finding where closed is null group by site), "
    "d as (select f.site, count(distinct z.zone) down, min(coalesce(zone.last_water, f.opened)) dry_since "
    "from finding f cross join lateral unnest(f.zones) z(zone) left join zone on zone.site = f.site and "
    "zone.zone = z.zone where f.closed is null and f.severity = 2 group by f.site), "
    "ranked as (select s.site, s.name, s.online, s.last_heard, s.timezone, s.version, s.troubles, "
    "coalesce(o.n, 0) n, coalesce(o.acknowledged, 0) acknowledged, coalesce(d.down, 0) down, d.dry_since, "
    "case when o.worst = 2 then 4 "
    "when coalesce(s.last_heard, s.first_heard) < now() - make_interval(secs => $1::float8 * 3600) then 3 "
    "when o.worst = 1 then 2 when o.n > 0 or s.troubles <> '[]' then 1 else 0 end need "
    "from site s left join o using (site) left join d using (site)) ";

constexpr const char* kLineColumns =
    "r.site, r.name, r.need, r.online, (extract(epoch from r.last_heard) * 1000)::bigint, r.n, "
    "r.acknowledged, r.down, "
    "(extract(epoch from r.dry_since) * 1000)::bigint, (select f.summary from finding f where f.site = "
    "r.site and "
    "f.closed is null order by f.acknowledged_at is not null, f.severity desc, f.opened limit 1)";

UtcTime time_of(const PgRows& rows, int row, int column) {
  return rows.null(row, column) ? kNever : from_ms(rows.integer(row, column));
}

SiteLine line_of(const PgRows& rows, int row) {
  SiteLine line;
  line.site = rows.text(row, 0);
  line.name = rows.text(row, 1).empty() ? line.site : std::string(rows.text(row, 1));
  line.need = static_cast<VisitNeed>(rows.integer(row, 2));
  line.online = rows.truth(row, 3);
  line.heard = time_of(rows, row, 4);
  line.open = static_cast<int>(rows.integer(row, 5));
  line.acknowledged = static_cast<int>(rows.integer(row, 6));
  line.zones_down = static_cast<int>(rows.integer(row, 7));
  line.dry_since = time_of(rows, row, 8);
  line.words = rows.text(row, 9);
  return line;
}

// The text as it stands, without the signs that `like` gives a meaning.
std::string like_pattern(const std::string& text) {
  std::string out = "%";
  for (const char c : text) {
    if (c == '%' || c == '_' || c == '\\') out += '\\';
    out += c;
  }
  return out + "%";
}

std::string text_in(const Json& json, const char* key) {
  if (!json.is_object() || !json.contains(key) || !json.at(key).is_string()) return {};
  return json.at(key).get<std::string>();
}

// A site's word is checked by the database's types only: what cannot be read as a finding is left out.
std::optional<Finding> finding_of(std::string_view text) {
  try {
    return finding_from_json(Json::parse(text));
  } catch (const nlohmann::json::exception&) {
    return std::nullopt;
  }
}

}  // namespace

Result<SiteList> FleetViews::sites(const SiteFilter& filter) {
  const std::string silent = fmt::to_string(silent_h_);
  const auto counts =
      database_.run(std::string(kRanked) + "select need, count(*) from ranked group by need", {silent});
  if (!counts) return counts.error();
  SiteList list;
  for (int row = 0; row < counts->size(); ++row) {
    list.by_need[counts->integer(row, 0)] = counts->integer(row, 1);
    list.all += counts->integer(row, 1);
  }
  const auto rows = database_.run(
      std::string(kRanked) +
          ", r as (select *, count(*) over () matching from ranked where ($2::int is null or need = $2::int) "
          "and "
          "($3::text is null or name ilike $3 or site ilike $3) order by need desc, dry_since nulls last, "
          "down desc, "
          "n desc, last_heard nulls first, site limit $4::int offset $5::int) select " +
          kLineColumns +
          ", r.matching from r order by need desc, dry_since nulls last, down desc, n desc, "
          "last_heard nulls first, site",
      {silent, filter.need ? std::optional(fmt::to_string(static_cast<int>(*filter.need))) : std::nullopt,
       filter.text.empty() ? std::nullopt : std::optional(like_pattern(filter.text)),
       fmt::to_string(kSitesAPage), fmt::to_string(static_cast<std::int64_t>(filter.page) * kSitesAPage)});
  if (!rows) return rows.error();
  for (int row = 0; row < rows->size(); ++row) list.lines.push_back(line_of(*rows, row));
  if (rows->size() > 0) list.matching = rows->integer(0, 10);
  return list;
}

Result<SiteDetail> FleetViews::site(const std::string& site) {
  const auto rows = database_.run(std::string(kRanked) + "select " + kLineColumns +
                                      ", r.timezone, r.version, r.troubles from ranked r where site = $2",
                                  {fmt::to_string(silent_h_), site});
  if (!rows) return rows.error();
  if (rows->size() == 0) return Error{Cause::not_found, fmt::format("there is no site '{}'", site)};
  SiteDetail detail;
  detail.line = line_of(*rows, 0);
  detail.timezone = rows->text(0, 10);
  detail.version = rows->text(0, 11);
  const Json troubles = Json::parse(rows->text(0, 12), nullptr, false);
  for (const auto& trouble : troubles)
    detail.troubles.push_back({text_in(trouble, "stage"), text_in(trouble, "why")});
  if (auto read = read_findings(detail); !read) return read.error();
  if (auto read = read_zones(detail); !read) return read.error();
  return detail;
}

Result<bool> FleetViews::read_findings(SiteDetail& detail) {
  const auto rows = database_.run(
      "(select body, acknowledged_by, (extract(epoch from acknowledged_at) * 1000)::bigint, severity s, "
      "opened from "
      "finding where site = $1 and closed is null order by severity desc, opened desc limit 100) union all "
      "(select body, acknowledged_by, (extract(epoch from acknowledged_at) * 1000)::bigint, 0, opened from "
      "finding "
      "where site = $1 and closed is not null order by opened desc limit 20)",
      {detail.line.site});
  if (!rows) return rows.error();
  for (int row = 0; row < rows->size(); ++row) {
    auto finding = finding_of(rows->text(row, 0));
    if (!finding) continue;
    FleetFinding kept{std::move(*finding), std::string(rows->text(row, 1)), time_of(*rows, row, 2)};
    (kept.finding.is_open() ? detail.open : detail.closed).push_back(std::move(kept));
  }
  return true;
}

Result<bool> FleetViews::read_zones(SiteDetail& detail) {
  const auto rows = database_.run(
      "select zone, name, normal_amps, low_amps, high_amps, (extract(epoch from last_run) * 1000)::bigint, "
      "(extract(epoch from last_water) * 1000)::bigint from zone where site = $1 order by zone",
      {detail.line.site});
  if (!rows) return rows.error();
  for (int row = 0; row < rows->size(); ++row) {
    FleetZone zone;
    zone.zone = static_cast<int>(rows->integer(row, 0));
    zone.name = rows->text(row, 1);
    zone.normal.zone = zone.zone;
    zone.normal.hold_amps = rows->number(row, 2);
    zone.normal.hold_low = rows->number(row, 3);
    zone.normal.hold_high = rows->number(row, 4);
    zone.normal.provisional = false;
    zone.last_run = time_of(*rows, row, 5);
    zone.last_water = time_of(*rows, row, 6);
    detail.zones.push_back(std::move(zone));
  }
  return true;
}

Result<bool> FleetViews::acknowledge(const std::string& site, const std::string& finding,
                                     const std::string& who) {
  const auto rows = database_.run(
      "update finding set acknowledged_by = $3, acknowledged_at = now() where site = $1 and id = $2 and "
      "closed is null "
      "returning id",
      {site, finding, who});
  if (!rows) return rows.error();
  if (rows->size() == 0)
    return Error{Cause::not_found, fmt::format("site '{}' has no open finding '{}'", site, finding)};
  return true;
}

Result<FleetTotals> FleetViews::totals() {
  const auto rows = database_.run(
      "select count(*), count(*) filter (where online), (select count(*) from finding where closed is null) "
      "from site");
  if (!rows) return rows.error();
  return FleetTotals{rows->integer(0, 0), rows->integer(0, 1), rows->integer(0, 2)};
}

}  // namespace coilward
