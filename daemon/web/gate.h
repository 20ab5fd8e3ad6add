// Who asks, what that one may do, and what is answered when it may not. Decides from what the request brings
// (the way it came, a session's cookie, a read-only link) and from the need of the route. Thread: the core's.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "daemon/web/api.h"
#include "daemon/web/need.h"

namespace coilward {

enum class VisitorKind : std::uint8_t {
  stranger,    // has brought nothing that lets in
  link,        // by a read-only link
  homeowner,   // has logged in
  technician,  // has logged in
  unguarded,   // on this machine's own port while nobody has a password
  local,       // by the Unix socket
};

struct Visitor {
  VisitorKind kind = VisitorKind::local;
  std::string name = {};    // of a person
  std::string secret = {};  // of a person's session
  UtcTime until = kNever;   // of a link

  bool may(Need need) const;
  bool is_person() const { return may(Need::person); }
};

bool may(VisitorKind kind, Need need);

enum class Passage : std::uint8_t { enter, log_in, refuse };
Passage passage(VisitorKind kind, Need need);

// logins: nullptr where there are no passwords to ask for (a daemon's files alone). Counts as use of a
// session.
Visitor visitor_of(const Asker& asker, Logins* logins);
// The token that this visitor's forms carry: a session's own, or one of this process.
std::string form_token(const Visitor& visitor, std::string_view of_process);

// What the site says of a person's name for the record: who has logged in is that one; else what was given.
std::string acting(const Visitor& visitor, const std::string& given);

// Where a login may lead back to: a path of this site and nothing else ("//elsewhere" is none).
bool is_local_path(std::string_view path);
// "/login?next=%2Fzone%2F4".
std::string login_path(const ApiRequest& request);

struct Call;
struct RouteEntry;
// nullopt: it may go on.
std::optional<ApiResponse> turned_away(const RouteEntry& route, const Call& call);

}  // namespace coilward
