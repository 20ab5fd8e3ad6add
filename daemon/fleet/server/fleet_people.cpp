#include "daemon/fleet/server/fleet_people.h"

#include <fmt/format.h>

#include <algorithm>

#include "daemon/login/login_book.h"
#include "daemon/login/password.h"

namespace coilward {
namespace {

constexpr std::size_t kLongestOrganisation = 32, kLongestOrganisationName = 60;
constexpr const char* kByName = "key = lower($1::text collate \"C\")";

Error nobody_called(const std::string& name) {
  return {Cause::not_found, fmt::format("there is nobody called '{}'", name)};
}

Result<bool> changed_one(const Result<PgRows>& rows, const Error& otherwise) {
  if (!rows) return rows.error();
  return rows->size() > 0 ? Result<bool>(true) : Result<bool>(otherwise);
}

// What is wrong with a name is what is wrong with it at a site.
Result<bool> may_be_called(const std::string& name) { return LoginBook().may_add(name, Role::technician); }

bool is_id(const std::string& id) {
  const auto good = [](char c) { return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-'; };
  return !id.empty() && id.size() <= kLongestOrganisation && std::ranges::all_of(id, good);
}

}  // namespace

Result<std::vector<FleetPerson>> FleetPeople::people() {
  const auto rows = database_.run(
      "select name, role, organisation, site, (extract(epoch from since) * 1000)::bigint from person order "
      "by "
      "organisation, key");
  if (!rows) return rows.error();
  std::vector<FleetPerson> list;
  for (int row = 0; row < rows->size(); ++row)
    list.push_back({std::string(rows->text(row, 0)),
                    fleet_role_from_name(rows->text(row, 1)).value_or(FleetRole::homeowner),
                    std::string(rows->text(row, 2)), std::string(rows->text(row, 3)),
                    from_ms(rows->integer(row, 4))});
  return list;
}

Result<std::string> FleetPeople::organisation_of(const FleetPerson& person) {
  const auto all = organisations();
  if (!all) return all.error();
  if (person.organisation.empty() && all->size() == 1) return all->front().id;
  if (person.organisation.empty())
    return Error{Cause::conflict, "there are several organisations: say which, with --organisation"};
  if (std::ranges::find(*all, person.organisation, &Organisation::id) != all->end())
    return person.organisation;
  return Error{Cause::not_found, fmt::format("there is no organisation '{}'", person.organisation)};
}

Result<std::string> FleetPeople::add(const FleetPerson& person, const std::string& password) {
  if (auto may = may_be_called(person.name); !may) return may.error();
  if (const auto fault = password_fault(password, person.name)) return Error{Cause::bad_input, *fault};
  if ((person.role == FleetRole::homeowner) == person.site.empty())
    return Error{Cause::bad_input, "a homeowner sees one site, and only a homeowner: --site says which"};
  const auto organisation = organisation_of(person);
  if (!organisation) return organisation.error();
  const auto hash = hash_password(password);
  if (!hash) return hash.error();
  // The first can let others see everything: that is a contractor.
  const auto added = database_.run(
      "insert into person (name, role, organisation, site, hash) select $1, $2, $3, nullif($4, ''), $5 where "
      "$2 = "
      "'contractor' or exists (select from person) on conflict do nothing returning name",
      {person.name, std::string(fleet_role_name(person.role)), *organisation, person.site, *hash});
  if (!added) return added.error();
  if (added->size() > 0) return organisation;
  const auto taken = database_.run(fmt::format("select from person where {}", kByName), {person.name});
  if (!taken) return taken.error();
  if (taken->size() == 0)
    return Error{Cause::bad_input, "the first person is a contractor, who sees all sites"};
  return Error{Cause::conflict, fmt::format("there is already somebody called '{}'", person.name)};
}

Result<bool> FleetPeople::set_password(const std::string& name, const std::string& password) {
  if (const auto fault = password_fault(password, name)) return Error{Cause::bad_input, *fault};
  const auto hash = hash_password(password);
  if (!hash) return hash.error();
  return changed_one(
      database_.run(
          fmt::format("with p as (update person set hash = $2 where {} returning key, name), gone as (delete "
                      "from login_session s using p where s.key = p.key) select name from p",
                      kByName),
          {name, *hash}),
      nobody_called(name));
}

Result<bool> FleetPeople::remove(const std::string& name) {
  auto removed = changed_one(
      database_.run(
          fmt::format("delete from person where {} and (role <> 'contractor' or (select count(*) from person "
                      "where role = 'contractor') > 1) returning name",
                      kByName),
          {name}),
      nobody_called(name));
  if (removed || removed.error().cause != Cause::not_found) return removed;
  const auto there = database_.run(fmt::format("select from person where {}", kByName), {name});
  if (there && there->size() > 0)
    return Error{Cause::conflict, "the last contractor stays: add another one first"};
  return removed;
}

Result<std::vector<Organisation>> FleetPeople::organisations() {
  const auto rows = database_.run(
      "select o.organisation, o.name, (select count(*) from site s where s.organisation = o.organisation), "
      "(select "
      "count(*) from person p where p.organisation = o.organisation) from organisation o order by "
      "o.organisation");
  if (!rows) return rows.error();
  std::vector<Organisation> list;
  for (int row = 0; row < rows->size(); ++row)
    list.push_back({std::string(rows->text(row, 0)), std::string(rows->text(row, 1)), rows->integer(row, 2),
                    rows->integer(row, 3)});
  return list;
}

Result<bool> FleetPeople::add_organisation(const std::string& id, const std::string& name) {
  if (!is_id(id))
    return Error{Cause::bad_input, fmt::format("'{}': an organisation's id is 1 to {} of a-z, 0-9 and '-'",
                                               id, kLongestOrganisation)};
  return changed_one(database_.run("insert into organisation (organisation, name) values ($1, $2) on "
                                   "conflict do nothing returning name",
                                   {id, name.empty() ? id : name.substr(0, kLongestOrganisationName)}),
                     {Cause::conflict, fmt::format("there is already an organisation '{}'", id)});
}

Result<bool> FleetPeople::give_site(const std::string& site, const std::string& organisation) {
  return changed_one(
      database_.run(
          "update site s set organisation = o.organisation, assigned_to = null, assigned_by = null, "
          "assigned_at = null from organisation o where s.site = $1 and o.organisation = $2 returning site",
          {site, organisation}),
      {Cause::not_found, fmt::format("there is no site '{}', or no organisation '{}'", site, organisation)});
}

}  // namespace coilward
