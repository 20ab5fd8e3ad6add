-- What the fleet keeps of all sites. The site leads every key, so that one site's rows lie together and the
-- tables can be spread over servers by it. Text keys are compared byte by byte.

create table site (
  site text collate "C" primary key,
  name text not null default '',
  timezone text not null default 'UTC',
  version text not null default '',
  described_at timestamptz,               -- by the site's clock, as all of its own times
  troubles jsonb not null default '[]',   -- what is wrong with coilward itself there
  troubles_at timestamptz,
  first_heard timestamptz not null default now(),
  last_heard timestamptz,                 -- a message of its own; by our clock
  online boolean not null default false,  -- as the broker says
  state_at timestamptz
);

create table zone (
  site text collate "C" not null,
  zone smallint not null,
  name text not null default '',
  normal_amps real, low_amps real, high_amps real,
  last_run timestamptz,                   -- start of the latest run
  last_water timestamptz,                 -- end of the latest run in which it drew what opens a valve
  primary key (site, zone)
);

-- The ledger: every message that was confirmed, once. Proof of receipt, and what was received.
create table uplink (
  site text collate "C" not null,
  epoch bigint not null,
  seq bigint not null,
  at timestamptz not null,
  kind smallint not null,                 -- 0 lost or unreadable, 1 finding, 2 site, 3 health, 4 runs, 5 history
  body jsonb not null,
  received_at timestamptz not null default now(),
  primary key (site, epoch, seq)
) partition by hash (site);
do $$ begin
  for i in 0..7 loop
    execute format('create table uplink_%s partition of uplink for values with (modulus 8, remainder %s)', i, i);
    execute format('create index on uplink_%s using brin (received_at)', i);
  end loop;
end $$;

-- Up to where a site's messages have come without a gap.
create table site_mark (
  site text collate "C" not null,
  epoch bigint not null,
  have bigint not null,
  primary key (site, epoch)
);

create table finding (
  site text collate "C" not null,
  id text collate "C" not null,
  fault text not null,
  severity smallint not null,             -- 0 watch, 1 soon, 2 urgent
  zones smallint[] not null,
  probability real not null,
  opened timestamptz not null,
  updated timestamptz not null,
  closed timestamptz,
  summary text not null,
  body jsonb not null,
  acknowledged_by text,                   -- here, by the contractor
  acknowledged_at timestamptz,
  primary key (site, id)
);
create index finding_open on finding (site) where closed is null;

create table run_summary (
  site text collate "C" not null,
  zone smallint not null,
  started_at timestamptz not null,
  ended_at timestamptz not null,
  hold_amps real, inrush_amps real,
  ended text not null,
  primary key (site, zone, started_at)
);

-- One row an hour and channel. By month, so that an old month is dropped, not deleted.
create table history (
  site text collate "C" not null,
  channel text collate "C" not null,
  bucket_at timestamptz not null,
  count integer not null,
  lowest real, mean real, highest real,
  primary key (site, channel, bucket_at)
) partition by range (bucket_at);

create function ensure_history_month(month date) returns void language plpgsql as $$
declare
  first date := date_trunc('month', month)::date;
  name text := 'history_' || to_char(month, 'YYYY_MM');
begin
  if to_regclass(name) is not null then return; end if;
  perform pg_advisory_xact_lock(7411002);
  if to_regclass(name) is not null then return; end if;
  execute format('create table %I partition of history for values from (%L) to (%L)',
                 name, first::timestamp at time zone 'UTC', (first + interval '1 month')::timestamp at time zone 'UTC');
end $$;
