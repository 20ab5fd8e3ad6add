// Who may come in at the contractor's server, and whose sites are whose: done in its database, where every
// worker sees it at once. With the configuration of the server (role = "fleet").
#pragma once

#include "daemon/cli/verbs.h"

namespace coilward {

// As person_verb, where --config names such a file.
int fleet_person_verb(const PersonOptions& options);

}  // namespace coilward
