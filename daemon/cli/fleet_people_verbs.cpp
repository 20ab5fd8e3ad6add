#include "daemon/cli/fleet_people_verbs.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "daemon/cli/exit_code.h"
#include "daemon/cli/say.h"
#include "daemon/cli/secret_input.h"
#include "daemon/cli/table.h"
#include "daemon/cli/words.h"
#include "daemon/config/fleet_server.h"
#include "daemon/fleet/server/fleet_people.h"
#include "daemon/fleet/server/migrations.h"
#include "daemon/mqtt/credentials.h"

namespace coilward {
namespace {

// Brought up to date first: the first person may be made before the server has ever run.
Result<Postgres> open_fleet_database(const std::string& file) {
  const auto config = load_fleet_server_config(file);
  if (!config) return config.error();
  const auto password =
      config->password_file.empty() ? Result<std::string>(std::string()) : read_secret(config->password_file);
  if (!password) return password.error();
  auto database = Postgres::connect(config->database, *password);
  if (!database) return database;
  if (auto migrated = migrate_fleet(*database); !migrated) return migrated.error();
  return database;
}

int tell(bool json, const Json& answer, const std::string& words) {
  if (json)
    print_json(answer);
  else
    print(words);
  return kExitDone;
}

int list_people(FleetPeople& people, bool json) {
  const auto list = people.people();
  if (!list) return fail(list.error());
  Json all = Json::array();
  Table table({{"name"}, {"role"}, {"organisation"}, {"site"}, {"since (UTC)"}});
  for (const FleetPerson& person : *list) {
    const Json one = {{"name", person.name},
                      {"role", fleet_role_name(person.role)},
                      {"organisation", person.organisation},
                      {"site", person.site.empty() ? Json() : Json(person.site)},
                      {"since", time_or_null(person.since)}};
    table.add({person.name, std::string(fleet_role_name(person.role)), person.organisation,
               person.site.empty() ? "all" : person.site, local_seconds(one["since"], "UTC")});
    all.push_back(one);
  }
  return tell(
      json, {{"people", all}},
      all.empty() ? "Nobody has a password yet: the page is open to this machine alone.\n" : table.text());
}

int add_one(FleetPeople& people, const PersonOptions& options, const std::string& password) {
  const auto role = fleet_role_from_name(options.role.empty() ? "contractor" : options.role);
  if (!role) return fail(Error{Cause::bad_input, fmt::format("'{}' is no role", options.role)});
  const auto added = people.add({options.name, *role, options.organisation, options.only_site}, password);
  if (!added) return fail(added.error());
  return tell(
      options.site.json,
      {{"added", true}, {"name", options.name}, {"role", fleet_role_name(*role)}, {"organisation", *added}},
      fmt::format("{} may come in now, as {} of {}\n", options.name, fleet_role_name(*role), *added));
}

int set_one(FleetPeople& people, const PersonOptions& options, const std::string& password) {
  if (auto set = people.set_password(options.name, password); !set) return fail(set.error());
  return tell(options.site.json, {{"changed", true}, {"name", options.name}},
              fmt::format("{} has another password now, and is logged out everywhere\n", options.name));
}

int remove_one(FleetPeople& people, const PersonOptions& options) {
  if (auto removed = people.remove(options.name); !removed) return fail(removed.error());
  return tell(options.site.json, {{"removed", true}, {"name", options.name}},
              fmt::format("{} may not come in any more\n", options.name));
}

int list_organisations(FleetPeople& people, bool json) {
  const auto list = people.organisations();
  if (!list) return fail(list.error());
  Json all = Json::array();
  Table table({{"organisation"}, {"name"}, {"sites"}, {"people"}});
  for (const Organisation& one : *list) {
    all.push_back(
        {{"organisation", one.id}, {"name", one.name}, {"sites", one.sites}, {"people", one.people}});
    table.add({one.id, one.name, fmt::to_string(one.sites), fmt::to_string(one.people)});
  }
  return tell(json, {{"organisations", all}}, table.text());
}

int add_organisation(FleetPeople& people, const OrganisationOptions& options) {
  if (auto added = people.add_organisation(options.id, options.name); !added) return fail(added.error());
  return tell(options.site.json, {{"added", true}, {"organisation", options.id}},
              fmt::format("{} is there. Give it sites: coilward organisation give {} --site SITE\n",
                          options.id, options.id));
}

int give_site(FleetPeople& people, const OrganisationOptions& options) {
  if (options.only_site.empty()) return fail(Error{Cause::bad_input, "say which site: --site SITE"});
  if (auto given = people.give_site(options.only_site, options.id); !given) return fail(given.error());
  return tell(options.site.json, {{"given", true}, {"site", options.only_site}, {"organisation", options.id}},
              fmt::format("{} is {}'s site now\n", options.only_site, options.id));
}

}  // namespace

int fleet_person_verb(const PersonOptions& options) {
  if (options.action != "list" && options.name.empty())
    return fail(Error{Cause::bad_input, "say whom: coilward person add|remove|password NAME"});
  const bool fresh = options.action == "add" || options.action == "password";
  const auto password = fresh ? new_password(options.password_file) : Result<std::string>(std::string());
  if (!password) return fail(password.error());
  auto database = open_fleet_database(options.site.config);
  if (!database) return fail(database.error());
  FleetPeople people(*database);
  if (options.action == "list") return list_people(people, options.site.json);
  if (options.action == "remove") return remove_one(people, options);
  return options.action == "add" ? add_one(people, options, *password) : set_one(people, options, *password);
}

int organisation_verb(const OrganisationOptions& options) {
  if (options.action != "list" && options.id.empty())
    return fail(Error{Cause::bad_input, "say which: coilward organisation add|give ORGANISATION"});
  auto database = open_fleet_database(options.site.config);
  if (!database) return fail(database.error());
  FleetPeople people(*database);
  if (options.action == "list") return list_organisations(people, options.site.json);
  return options.action == "add" ? add_organisation(people, options) : give_site(people, options);
}

}  // namespace coilward
