// Organisations, whose sites are whose, and who may come in. For the command line of the machine, which has
// the database's own user. Thread: one at a time. Errors: world; bad_input, conflict and not_found as said.
#pragma once

#include <string>
#include <vector>

#include "daemon/fleet/server/fleet_visitor.h"

namespace coilward {

struct FleetPerson {
  std::string name;
  FleetRole role = FleetRole::contractor;
  std::string organisation;  // empty, when one is added: the only one there is
  std::string site = {};     // a homeowner's, and nobody else's
  UtcTime since = kNever;
};

struct Organisation {
  std::string id, name;  // id: a-z 0-9 and '-'
  std::int64_t sites = 0, people = 0;
};

class FleetPeople {
 public:
  explicit FleetPeople(Postgres& database) : database_(database) {}

  Result<std::vector<FleetPerson>> people();
  // Hashes the password, which takes some tens of milliseconds. The organisation that was meant. bad_input:
  // name, password or site. conflict: the name is taken, or there are several organisations. not_found:
  // organisation.
  Result<std::string> add(const FleetPerson& person, const std::string& password);
  // Ends the person's sessions. not_found, bad_input.
  Result<bool> set_password(const std::string& name, const std::string& password);
  // conflict: the last contractor stays, or the page would be open again. not_found.
  Result<bool> remove(const std::string& name);

  Result<std::vector<Organisation>> organisations();
  // bad_input: id. conflict: there is one.
  Result<bool> add_organisation(const std::string& id, const std::string& name);
  // What belongs to the site goes with it; homeowners of it who belong elsewhere see nothing any more.
  // not_found.
  Result<bool> give_site(const std::string& site, const std::string& organisation);

 private:
  Result<std::string> organisation_of(const FleetPerson& person);
  Postgres& database_;
};

}  // namespace coilward
