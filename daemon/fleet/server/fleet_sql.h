// The statements of FleetStore. $1 is an array of messages as JSON: site, epoch, seq, at, kind, body. Inside
// this folder only.
#pragma once

namespace coilward::sql {

#define COILWARD_MESSAGES                                                                                   \
  "with m as (select * from jsonb_to_recordset($1::jsonb) as m(site text collate \"C\", epoch bigint, seq " \
  "bigint, "                                                                                                \
  "at timestamptz, kind smallint, body jsonb)) "

// Which of them are new. Sorted: overlapping batches cannot deadlock.
inline constexpr const char* kLedger = COILWARD_MESSAGES
    "insert into uplink (site, epoch, seq, at, kind, body) select site, epoch, seq, at, kind, body from m "
    "order by site, epoch, seq on conflict do nothing returning site, epoch, seq";

inline constexpr const char* kHeard = COILWARD_MESSAGES
    "insert into site (site, last_heard) select distinct site, now() from m order by site "
    "on conflict (site) do update set last_heard = now()";

// The later description by the site's clock stays.
inline constexpr const char* kDescribe = COILWARD_MESSAGES
    "update site s set name = left(coalesce(d.body->>'name', ''), 200), "
    "timezone = left(coalesce(d.body->>'timezone', 'UTC'), 64), version = left(coalesce(d.body->>'version', "
    "''), 40), "
    "described_at = d.at from (select distinct on (site) site, at, body from m where kind = 2 "
    "order by site, at desc) d where s.site = d.site and (s.described_at is null or s.described_at <= d.at)";

inline constexpr const char* kZones = COILWARD_MESSAGES
    "insert into zone (site, zone, name, normal_amps, low_amps, high_amps) "
    "select distinct on (m.site, (z->>'zone')::smallint) m.site, (z->>'zone')::smallint, "
    "left(coalesce(z->>'name', ''), 200), (z->>'normal_amps')::real, (z->>'low_amps')::real, "
    "(z->>'high_amps')::real "
    "from m join site s on s.site = m.site and (s.described_at is null or s.described_at <= m.at), "
    "lateral jsonb_array_elements(m.body->'zones') z where m.kind = 2 "
    "order by m.site, (z->>'zone')::smallint, m.at desc "
    "on conflict (site, zone) do update set name = excluded.name, normal_amps = excluded.normal_amps, "
    "low_amps = excluded.low_amps, high_amps = excluded.high_amps";

inline constexpr const char* kHealth = COILWARD_MESSAGES
    "update site s set troubles = h.body->'troubles', troubles_at = h.at from (select distinct on (site) "
    "site, at, "
    "body from m where kind = 3 and jsonb_typeof(body->'troubles') = 'array' order by site, at desc) h "
    "where s.site = h.site and (s.troubles_at is null or s.troubles_at <= h.at)";

// The latest form stays. What became more severe than when it was acknowledged is not acknowledged.
inline constexpr const char* kFindings = COILWARD_MESSAGES
    "insert into finding (site, id, fault, severity, zones, probability, opened, updated, closed, summary, "
    "body) "
    "select distinct on (m.site, f->>'id') m.site, f->>'id', coalesce(f->>'fault', ''), "
    "case f->>'severity' when 'urgent' then 2 when 'soon' then 1 else 0 end, "
    "array(select z::smallint from jsonb_array_elements_text(f->'zones') z order by 1), "
    "coalesce((f->>'probability')::real, 0), (f->>'opened')::timestamptz, (f->>'updated')::timestamptz, "
    "(f->>'closed')::timestamptz, coalesce(f->>'summary', ''), f "
    "from m, lateral jsonb_array_elements(m.body->'findings') f where m.kind = 1 "
    "order by m.site, f->>'id', (f->>'updated')::timestamptz desc, m.seq desc "
    "on conflict (site, id) do update set fault = excluded.fault, severity = excluded.severity, "
    "zones = excluded.zones, probability = excluded.probability, updated = excluded.updated, "
    "closed = excluded.closed, summary = excluded.summary, body = excluded.body, "
    "acknowledged_by = case when excluded.severity > finding.severity then null else finding.acknowledged_by "
    "end, "
    "acknowledged_at = case when excluded.severity > finding.severity then null else finding.acknowledged_at "
    "end "
    "where finding.updated <= excluded.updated";

#define COILWARD_RUNS                                                                            \
  ", r as (select m.site, x.zone::smallint zone, to_timestamp(x.start::bigint) started_at, "     \
  "to_timestamp(x.start::bigint + x.seconds::bigint) ended_at, x.hold::real / 1000 hold_amps, "  \
  "x.inrush::real / 1000 inrush_amps, coalesce(x.ended, '') ended, m.seq from m, "               \
  "lateral rows from (jsonb_array_elements_text(m.body->'zone'), "                               \
  "jsonb_array_elements_text(m.body->'start'), "                                                 \
  "jsonb_array_elements_text(m.body->'seconds'), jsonb_array_elements_text(m.body->'hold_ma'), " \
  "jsonb_array_elements_text(m.body->'inrush_ma'), jsonb_array_elements_text(m.body->'ended')) " \
  "as x(zone, start, seconds, hold, inrush, ended) where m.kind = 4) "

inline constexpr const char* kRuns = COILWARD_MESSAGES COILWARD_RUNS
    "insert into run_summary (site, zone, started_at, ended_at, hold_amps, inrush_amps, ended) "
    "select distinct on (site, zone, started_at) site, zone, started_at, ended_at, hold_amps, inrush_amps, "
    "ended "
    "from r order by site, zone, started_at, seq desc on conflict (site, zone, started_at) do update set "
    "ended_at = excluded.ended_at, hold_amps = excluded.hold_amps, inrush_amps = excluded.inrush_amps, "
    "ended = excluded.ended";

// Watered: it drew at least half of what is normal for it, or 50 mA where that is not known (common practice:
// a 24 V valve holds with 0.1 to 0.4 A).
inline constexpr const char* kWater = COILWARD_MESSAGES COILWARD_RUNS
    "insert into zone (site, zone, last_run, last_water) select r.site, r.zone, max(r.started_at), "
    "max(r.ended_at) filter (where r.hold_amps >= coalesce(z.normal_amps / 2, 0.05)) "
    "from r left join zone z using (site, zone) group by r.site, r.zone order by r.site, r.zone "
    "on conflict (site, zone) do update set last_run = greatest(zone.last_run, excluded.last_run), "
    "last_water = greatest(zone.last_water, excluded.last_water)";

// Hours that a clock which is years off would give are left out.
#define COILWARD_HOURS                                                                                     \
  ", h as (select m.site, m.seq, left(c.key, 64) channel, to_timestamp(x.hour::bigint * 3600) bucket_at, " \
  "x.count::integer count, x.lowest::real lowest, x.mean::real mean, x.highest::real highest from m, "     \
  "lateral jsonb_each(m.body->'hours') c, lateral rows from (jsonb_array_elements_text(c.value->'hour'), " \
  "jsonb_array_elements_text(c.value->'count'), jsonb_array_elements_text(c.value->'lowest'), "            \
  "jsonb_array_elements_text(c.value->'mean'), jsonb_array_elements_text(c.value->'highest')) "            \
  "as x(hour, count, lowest, mean, highest) where m.kind = 5 and to_timestamp(x.hour::bigint * 3600) "     \
  "between now() - interval '3 years' and now() + interval '2 days') "

inline constexpr const char* kMonths = COILWARD_MESSAGES COILWARD_HOURS
    "select distinct to_char(date_trunc('month', bucket_at), 'YYYY-MM-DD') from h";
inline constexpr const char* kEnsureMonth = "select ensure_history_month($1::date)";

inline constexpr const char* kHistory = COILWARD_MESSAGES COILWARD_HOURS
    "insert into history (site, channel, bucket_at, count, lowest, mean, highest) "
    "select distinct on (site, channel, bucket_at) site, channel, bucket_at, count, lowest, mean, highest "
    "from h "
    "order by site, channel, bucket_at, seq desc on conflict (site, channel, bucket_at) do update set "
    "count = excluded.count, lowest = excluded.lowest, mean = excluded.mean, highest = excluded.highest";

#undef COILWARD_MESSAGES
#undef COILWARD_RUNS
#undef COILWARD_HOURS

// $1: array of {site, epoch}.
#define COILWARD_TOUCHED \
  "with t as (select * from jsonb_to_recordset($1::jsonb) as t(site text collate \"C\", epoch bigint)) "

inline constexpr const char* kMarksBegin = COILWARD_TOUCHED
    "insert into site_mark (site, epoch, have) select site, epoch, 0 from t order by site, epoch "
    "on conflict do nothing";

// Up to the first number that is missing. Marks are locked in their order; one that another worker moved on
// meanwhile is seen as it is now, and never goes back.
inline constexpr const char* kMarks = COILWARD_TOUCHED
    ", l as (select m.site, m.epoch, m.have from site_mark m join t using (site, epoch) order by m.site, "
    "m.epoch "
    "for update of m), "
    "c as (select l.site, l.epoch, (select coalesce(max(q), l.have) from (select u.seq q, row_number() over "
    "(order "
    "by u.seq) n from uplink u where u.site = l.site and u.epoch = l.epoch and u.seq > l.have) z "
    "where q = l.have + n) have from l) "
    "update site_mark m set have = greatest(m.have, c.have) from c where m.site = c.site and m.epoch = "
    "c.epoch "
    "returning m.site, m.epoch, m.have";
#undef COILWARD_TOUCHED

// $1: array of {site, online, at}.
inline constexpr const char* kStates =
    "insert into site (site, online, state_at) select distinct on (site) site, online, at from "
    "jsonb_to_recordset($1::jsonb) as s(site text collate \"C\", online boolean, at timestamptz, n integer) "
    "order by site, n desc on conflict (site) do update set online = excluded.online, state_at = "
    "excluded.state_at "
    "where site.online is distinct from excluded.online";

// What is proved received and older than what a site sends again.
inline constexpr const char* kForget = "select forget_old_messages()";

}  // namespace coilward::sql
