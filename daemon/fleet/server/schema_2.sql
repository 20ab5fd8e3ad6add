-- Whose sites these are, who may come in, and what each part of the program may touch: it works as one of four
-- roles, and the rows that a role sees are decided here once more, whatever the program forgets.

do $$
declare part text;
begin
  foreach part in array array['coilward_intake', 'coilward_page', 'coilward_homeowner', 'coilward_door'] loop
    begin
      if not exists (select from pg_roles where rolname = part) then
        execute format('create role %I nologin', part);
      end if;
      if not pg_has_role(current_user, part, 'member') then
        execute format('grant %I to %I', part, current_user);
      end if;
    exception
      when duplicate_object or unique_violation then null;  -- made meanwhile, from another database of this server
      when insufficient_privilege then
        raise exception 'the role % is not there for %: alter role % createrole, or make the roles '
          'coilward_intake, coilward_page, coilward_homeowner and coilward_door by hand and grant them to it',
          part, current_user, current_user using errcode = 'insufficient_privilege';
    end;
    execute format('grant usage on schema %I to %I', current_schema(), part);
  end loop;
end $$;

create table organisation (
  organisation text collate "C" primary key,
  name text not null default '',          -- for people
  since timestamptz not null default now()
);
insert into organisation (organisation) values ('main');

-- Takes in what is new. Where there are several, a site is nobody's until it is given to one.
create function only_organisation() returns text language sql stable security definer as
  'select min(organisation) from organisation having count(*) = 1';

alter table site add column organisation text collate "C" references organisation;
update site set organisation = 'main';
alter table site alter column organisation set default only_organisation();
create index site_of_organisation on site (organisation);
alter table site add column assigned_to text;  -- who goes there
alter table site add column assigned_by text;
alter table site add column assigned_at timestamptz;

create table person (
  name text not null,
  key text collate "C" primary key generated always as (lower(name collate "C")) stored,
  role text not null check (role in ('contractor', 'technician', 'homeowner')),
  organisation text collate "C" not null references organisation,
  site text collate "C",                  -- a homeowner's
  hash text not null,                     -- of the password
  since timestamptz not null default now(),
  check ((role = 'homeowner') = (site is not null))
);

create table login_session (
  kept text collate "C" primary key,      -- of the cookie's secret
  key text collate "C" not null references person on delete cascade,
  since timestamptz not null default now(),
  seen timestamptz not null default now(),
  address text not null
);
create index login_session_of_person on login_session (key);

-- What the forms for strangers carry follows from it: any worker takes what another has shown.
create table form_secret (secret text not null);
insert into form_secret select gen_random_uuid() || '-' || gen_random_uuid();

-- Who comes with this cookie. The only way from a cookie to a name: the page's role does not see the others.
create function visitor(kept text, idle interval, longest interval)
  returns table (anybody boolean, first_organisation text, form_secret text, name text, role text, organisation text,
                 site text)
  language sql security definer as $$
  update login_session s set seen = now() where s.kept = $1 and s.seen < now() - interval '6 hours'
    and s.seen > now() - $2 and s.since > now() - $3;
  select exists (select from person),
    (select o.organisation from organisation o order by o.since, o.organisation limit 1),
    (select f.secret from form_secret f), p.name, p.role, p.organisation, p.site
  from (select) as one
    left join login_session s on s.kept = $1 and s.seen > now() - $2 and s.since > now() - $3
    left join person p on p.key = s.key;
$$;

create function forget_old_messages() returns void language sql security definer as $$
  delete from uplink u using site_mark m where pg_try_advisory_xact_lock(7411003) and m.site = u.site and
    m.epoch = u.epoch and u.seq <= m.have and u.received_at < now() - interval '100 days';
$$;

-- For /metrics: of all organisations, without a name.
create function fleet_totals(out sites bigint, out online bigint, out open_findings bigint)
  language sql stable security definer as
  'select count(*), count(*) filter (where s.online), (select count(*) from finding f where f.closed is null) from site s';

alter function ensure_history_month(date) security definer;

-- Whose eyes look: set for one transaction. Not set: nobody's.
create function seen_organisation() returns text language sql stable as
  $$ select nullif(current_setting('coilward.organisation', true), '') $$;
create function seen_site() returns text language sql stable as
  $$ select nullif(current_setting('coilward.site', true), '') $$;  -- a homeowner's

do $$
declare what text;
begin
  foreach what in array array['only_organisation()', 'visitor(text, interval, interval)', 'forget_old_messages()',
                              'fleet_totals()', 'ensure_history_month(date)'] loop
    execute format('alter function %s set search_path = %I, pg_temp', what, current_schema());
    execute format('revoke execute on function %s from public', what);
  end loop;
  foreach what in array array['site', 'zone', 'uplink', 'site_mark', 'finding', 'run_summary', 'history', 'organisation',
                              'person', 'login_session', 'form_secret', 'schema_version'] loop
    execute format('alter table %I enable row level security', what);
  end loop;
  -- The intake writes for every site: which one, the topic says. It reads and deletes no people, and no history goes.
  foreach what in array array['site', 'zone', 'uplink', 'site_mark', 'finding', 'run_summary', 'history'] loop
    execute format('create policy intake on %I to coilward_intake using (true) with check (true)', what);
    execute format('grant select on %I to coilward_intake', what);
  end loop;
  -- What belongs to a site is seen by whoever sees the site.
  foreach what in array array['zone', 'finding', 'run_summary', 'history'] loop
    execute format('create policy page on %I for select to coilward_page, coilward_homeowner using (site in '
                   '(select s.site from site s))', what);
    execute format('grant select on %I to coilward_page, coilward_homeowner', what);
  end loop;
end $$;

grant insert (site, last_heard, online, state_at),
  update (name, timezone, version, described_at, troubles, troubles_at, last_heard, online, state_at)
  on site to coilward_intake;
grant insert on uplink to coilward_intake;
grant insert, update on zone, site_mark, finding, run_summary, history to coilward_intake;
grant execute on function only_organisation(), forget_old_messages(), ensure_history_month(date) to coilward_intake;

-- Two policies rather than one with an "or": the planner then knows how many sites an organisation has.
create policy page on site for select to coilward_page using (organisation = seen_organisation());
create policy homeowner on site for select to coilward_homeowner
  using (organisation = seen_organisation() and site = seen_site());
create policy page_assigns on site for update to coilward_page
  using (organisation = seen_organisation()) with check (organisation = seen_organisation());
create policy page_acknowledges on finding for update to coilward_page
  using (site in (select s.site from site s));
create policy page on organisation for select to coilward_page, coilward_homeowner
  using (organisation = seen_organisation());
create policy page on person for select to coilward_page using (organisation = seen_organisation());
grant select on site, organisation to coilward_page, coilward_homeowner;
grant select (name, key, role, organisation) on person to coilward_page;
grant update (assigned_to, assigned_by, assigned_at) on site to coilward_page;
grant update (acknowledged_by, acknowledged_at) on finding to coilward_page;
grant execute on function visitor(text, interval, interval), fleet_totals() to coilward_page;

create policy door on person to coilward_door using (true) with check (true);
create policy door on login_session to coilward_door using (true) with check (true);
grant select, update (hash) on person to coilward_door;
grant select, insert, delete on login_session to coilward_door;
grant execute on function visitor(text, interval, interval) to coilward_door;
