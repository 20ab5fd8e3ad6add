#include "daemon/fleet/server/fleet_views.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "daemon/base/pipeline_json.h"
#include "daemon/fleet/server/migrations.h"

namespace coilward {
namespace {

// $1: hours of silence. $2: the organisation. $3: a homeowner's site, or ''. A finding that was acknowledged,
// and troubles of coilward itself, are worth a look only.
constexpr const char* kRanked =
    "with o as (select site, max(severity) filter (where acknowledged_at is null) worst, count(*) n, "
    "count(acknowledged_at) acknowledged, min(opened) first_opened from finding where closed is null group "
    "by site), "
    "d as (select f.site, count(distinct z.zone) down, min(coalesce((select zone.last_water from zone where "
    "zone.site = f.site and zone.zone = z.zone), f.opened)) dry_since from finding f cross join lateral "
    "unnest(f.zones) z(zone) where f.closed is null and f.severity = 2 group by f.site), "
    "ranked as (select s.site, s.name, s.online, s.last_heard, s.timezone, s.version, s.troubles, "
    "case when o.first_opened <= s.assigned_at or coalesce(s.last_heard, s.first_heard) <= s.assigned_at "
    "then "
    "s.assigned_to end assigned_to, s.assigned_by, s.assigned_at, "
    "coalesce(o.n, 0) n, coalesce(o.acknowledged, 0) acknowledged, coalesce(d.down, 0) down, d.dry_since, "
    "case when o.worst = 2 then 4 "
    "when coalesce(s.last_heard, s.first_heard) < now() - make_interval(secs => $1::float8 * 3600) then 3 "
    "when o.worst = 1 then 2 when o.n > 0 or s.troubles <> '[]' then 1 else 0 end need "
    "from site s left join o using (site) left join d using (site) "
    "where s.organisation = $2 and ($3 = '' or s.site = $3)) ";

constexpr const char* kLineColumns =
    "r.site, r.name, r.need, r.online, (extract(epoch from r.last_heard) * 1000)::bigint, r.n, "
    "r.acknowledged, r.down, "
    "(extract(epoch from r.dry_since) * 1000)::bigint, (select f.summary from finding f where f.site = "
    "r.site and "
    "f.closed is null order by f.acknowledged_at is not null, f.severity desc, f.opened limit 1), "
    "r.assigned_to";

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
  line.assigned_to = rows.text(row, 10);
  return line;
}

Error no_such_site(const std::string& site) {
  return {Cause::not_found, fmt::format("there is no site '{}'", site)};
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

// One transaction, which alone knows whose eyes look. A homeowner's are of a role that changes nothing.
template <class Work>
auto FleetViews::within(const FleetScope& scope, const Work& work) -> decltype(work()) {
  const std::string begin =
      scope.site.empty() ? "begin" : fmt::format("begin; set local role {}", kHomeownerRole);
  if (auto begun = database_.script(begin); !begun) {
    database_.roll_back();
    return begun.error();
  }
  const auto set = database_.run(
      "select set_config('coilward.organisation', $1, true), set_config('coilward.site', $2, true)",
      {scope.organisation, scope.site});
  auto done = set ? work() : decltype(work())(set.error());
  if (!done) {
    database_.roll_back();
    return done;
  }
  if (auto kept = database_.script("commit"); !kept) return kept.error();
  return done;
}

Result<SiteList> FleetViews::sites(const FleetScope& scope, const SiteFilter& filter) {
  const std::string silent = fmt::to_string(silent_h_);
  return within(scope, [&]() -> Result<SiteList> {
    const auto counts =
        database_.run(std::string(kRanked) + "select need, count(*) from ranked group by need",
                      {silent, scope.organisation, scope.site});
    if (!counts) return counts.error();
    SiteList list;
    for (int row = 0; row < counts->size(); ++row) {
      list.by_need[counts->integer(row, 0)] = counts->integer(row, 1);
      list.all += counts->integer(row, 1);
    }
    const auto rows = database_.run(
        std::string(kRanked) +
            ", r as (select *, count(*) over () matching from ranked where ($4::int is null or need = "
            "$4::int) and ($5::text is null or name ilike $5 or site ilike $5) order by need desc, dry_since "
            "nulls last, down desc, n desc, last_heard nulls first, site limit $6::int offset $7::int) "
            "select " +
            kLineColumns +
            ", r.matching from r order by need desc, dry_since nulls last, down desc, n desc, "
            "last_heard nulls first, site",
        {silent, scope.organisation, scope.site,
         filter.need ? std::optional(fmt::to_string(static_cast<int>(*filter.need))) : std::nullopt,
         filter.text.empty() ? std::nullopt : std::optional(like_pattern(filter.text)),
         fmt::to_string(kSitesAPage), fmt::to_string(static_cast<std::int64_t>(filter.page) * kSitesAPage)});
    if (!rows) return rows.error();
    for (int row = 0; row < rows->size(); ++row) list.lines.push_back(line_of(*rows, row));
    if (rows->size() > 0) list.matching = rows->integer(0, 11);
    return list;
  });
}

Result<SiteDetail> FleetViews::site(const FleetScope& scope, const std::string& site) {
  return within(scope, [&] { return read_site(scope, site); });
}

Result<SiteDetail> FleetViews::read_site(const FleetScope& scope, const std::string& site) {
  const auto rows =
      database_.run(std::string(kRanked) + "select " + kLineColumns +
                        ", r.timezone, r.version, r.troubles, r.assigned_by, (extract(epoch from "
                        "r.assigned_at) * 1000)::bigint from ranked r where site = $4",
                    {fmt::to_string(silent_h_), scope.organisation, scope.site, site});
  if (!rows) return rows.error();
  if (rows->size() == 0) return no_such_site(site);
  SiteDetail detail;
  detail.line = line_of(*rows, 0);
  detail.timezone = rows->text(0, 11);
  detail.version = rows->text(0, 12);
  const Json troubles = Json::parse(rows->text(0, 13), nullptr, false);
  for (const auto& trouble : troubles)
    detail.troubles.push_back({text_in(trouble, "stage"), text_in(trouble, "why")});
  detail.assigned_by = rows->text(0, 14);
  detail.assigned_at = time_of(*rows, 0, 15);
  if (auto read = read_findings(detail); !read) return read.error();
  if (auto read = read_zones(detail); !read) return read.error();
  return detail;
}

Result<std::string> FleetViews::organisation_name(const FleetScope& scope) {
  return within(scope, [&]() -> Result<std::string> {
    const auto rows =
        database_.run("select name from organisation where organisation = $1", {scope.organisation});
    if (!rows) return rows.error();
    return rows->size() == 0 ? std::string() : std::string(rows->text(0, 0));
  });
}

Result<std::vector<std::string>> FleetViews::colleagues(const FleetScope& scope) {
  return within(scope, [&]() -> Result<std::vector<std::string>> {
    const auto rows =
        database_.run("select name from person where organisation = $1 and role <> 'homeowner' order by key",
                      {scope.organisation});
    if (!rows) return rows.error();
    std::vector<std::string> names;
    for (int row = 0; row < rows->size(); ++row) names.emplace_back(rows->text(row, 0));
    return names;
  });
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

Result<bool> FleetViews::acknowledge(const FleetScope& scope, const std::string& site,
                                     const std::string& finding, const std::string& who) {
  return within(scope, [&]() -> Result<bool> {
    const auto rows = database_.run(
        "update finding f set acknowledged_by = $3, acknowledged_at = now() where f.site = $1 and f.id = $2 "
        "and f.closed is null and exists (select from site s where s.site = $1 and s.organisation = $4 and "
        "($5 = '' or s.site = $5)) returning id",
        {site, finding, who, scope.organisation, scope.site});
    if (!rows) return rows.error();
    if (rows->size() == 0)
      return Error{Cause::not_found,
                   fmt::format("there is no open finding '{}' of a site '{}'", finding, site)};
    return true;
  });
}

Result<bool> FleetViews::assign(const FleetScope& scope, const std::string& site, const std::string& to,
                                const std::string& who) {
  return within(scope, [&]() -> Result<bool> {
    const auto rows = database_.run(
        "update site set assigned_to = nullif($2, ''), assigned_by = $3, assigned_at = now() where site = $1 "
        "and organisation = $4 and ($5 = '' or site = $5) and ($2 = '' or exists (select from person p where "
        "p.name = $2 and p.organisation = $4 and p.role <> 'homeowner')) returning site",
        {site, to, who, scope.organisation, scope.site});
    if (!rows) return rows.error();
    if (rows->size() == 0)
      return Error{Cause::not_found, fmt::format("there is no site '{}', or nobody called '{}'", site, to)};
    return true;
  });
}

Result<FleetTotals> FleetViews::totals() {
  const auto rows = database_.run("select sites, online, open_findings from fleet_totals()");
  if (!rows) return rows.error();
  return FleetTotals{rows->integer(0, 0), rows->integer(0, 1), rows->integer(0, 2)};
}

}  // namespace coilward
