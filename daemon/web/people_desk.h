// Who may come in, as JSON: what the routes say and do (people_routes.cpp), and the command line on a
// daemon's files alone. Errors as Logins; bad_input for a body that is not as it should be. Thread: that of
// Logins.
#pragma once

#include <string>

#include "daemon/login/logins.h"
#include "daemon/web/site_access.h"

namespace coilward {

// {"people": [{"name", "role", "since"}]}, with "set_up_code" while there is nobody, and "damaged" where the
// file cannot be read.
Json people_to_json(const Logins& logins);
// {"shares": [{"id", "label", "by", "since", "until"}]}
Json shares_to_json(const Logins& logins);

// body: {"name", "role", "password"}
void add_person(Logins& logins, const Json& body, JsonCallback answer);
// body: {"password"}
void set_password(Logins& logins, const std::string& name, const Json& body, JsonCallback answer);
void remove_person(Logins& logins, const std::string& name, JsonCallback answer);
// body: {"label", "days"}. The answer has the link's "path" too, which is kept nowhere.
void make_share(Logins& logins, const Json& body, const std::string& by, JsonCallback answer);
void end_share(Logins& logins, const std::string& id, JsonCallback answer);

// The address of a read-only link on this site.
std::string link_path(const std::string& secret);

}  // namespace coilward
