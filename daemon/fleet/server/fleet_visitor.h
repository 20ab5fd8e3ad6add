// Who asks the contractor's server, and what that one may do there. Thread: any.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "daemon/fleet/server/fleet_views.h"
#include "daemon/web/api.h"

namespace coilward {

enum class FleetRole : std::uint8_t {
  homeowner,   // reads one site
  technician,  // reads and acknowledges, all sites of the organisation
  contractor,  // assigns, too
};
std::string_view fleet_role_name(FleetRole role);
std::optional<FleetRole> fleet_role_from_name(std::string_view name);

// What a route needs of who asks for it.
enum class FleetNeed : std::uint8_t {
  open,        // nothing: the way in, and files that say nothing of a site
  machine,     // comes from this machine: figures of the server itself
  read,        // sees a site at least
  look_after,  // goes to the sites
  assign,      // says who goes where
  person,      // has logged in: for what is that person's own
};

struct FleetVisitor {
  enum class Kind : std::uint8_t {
    stranger,   // has brought nothing that lets in
    unguarded,  // on this machine while nobody has a password: the first organisation's
    person,
  };
  Kind kind = Kind::stranger;
  FleetRole role = FleetRole::homeowner;  // of a person
  std::string name = {};                  // of a person
  std::string secret = {};                // of a person's session
  FleetScope scope = {};
  bool near = false;       // from this machine
  bool anybody = true;     // somebody has a password
  std::string token = {};  // of the forms that this one is shown

  bool is_person() const { return kind == Kind::person; }
  bool may(FleetNeed need) const;
};

// By the session's cookie; the connection is of the role kPageRole or kDoorRole (migrations.h). Counts as
// use. world.
Result<FleetVisitor> fleet_visitor(Postgres& database, const Asker& asker);

}  // namespace coilward
