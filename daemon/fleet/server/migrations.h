// The database's tables, in numbered steps.
#pragma once

#include <string_view>
#include <vector>

#include "daemon/fleet/server/postgres.h"

namespace coilward {

// SQL by number, from 1 on. A step that was released is never changed.
const std::vector<std::string_view>& fleet_migrations();

// Brings the database up to date, each step in a transaction of its own, one program at a time. bad_config:
// the database was made by a newer program. world: try again later.
Result<bool> migrate_fleet(Postgres& database);

// What a connection works as, from schema_2.sql on: each may do what its part of the program needs.
inline constexpr const char *kIntakeRole = "coilward_intake", *kPageRole = "coilward_page",
                            *kHomeownerRole = "coilward_homeowner", *kDoorRole = "coilward_door";

}  // namespace coilward
