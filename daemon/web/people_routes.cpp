// Who may come in, for programs: people by the Unix socket alone, links for technicians too.
#include <nlohmann/json.hpp>

#include "daemon/web/api_route.h"
#include "daemon/web/people_desk.h"

namespace coilward {
namespace {

ApiResponse no_people() {
  return problem({Cause::conflict,
                  "where no daemon runs, `coilward person` and `coilward share` have their "
                  "own way to those who may come in"});
}

}  // namespace

ApiResponse get_session(const Call& call) {
  const Role role = call.visitor.may(Need::technician) ? Role::technician : Role::homeowner;
  return json_response({{"name", call.visitor.name}, {"role", role_name(role)}, {"token", call.token}});
}

ApiResponse get_people(const Call& call) {
  return call.logins ? json_response(people_to_json(*call.logins)) : no_people();
}

void post_person(const Call& call, Respond respond) {
  if (!call.logins) return respond(no_people());
  add_person(*call.logins, call.body, as_json(std::move(respond)));
}

void post_password(const Call& call, Respond respond) {
  if (!call.logins) return respond(no_people());
  set_password(*call.logins, call.args[0], call.body, as_json(std::move(respond)));
}

void post_remove_person(const Call& call, Respond respond) {
  if (!call.logins) return respond(no_people());
  remove_person(*call.logins, call.args[0], as_json(std::move(respond)));
}

ApiResponse get_shares(const Call& call) {
  return call.logins ? json_response(shares_to_json(*call.logins)) : no_people();
}

void post_share(const Call& call, Respond respond) {
  if (!call.logins) return respond(no_people());
  const Json by = call.body.value("by", Json(""));
  make_share(*call.logins, call.body, acting(call.visitor, by.is_string() ? by.get<std::string>() : ""),
             as_json(std::move(respond)));
}

void post_end_share(const Call& call, Respond respond) {
  if (!call.logins) return respond(no_people());
  end_share(*call.logins, call.args[0], as_json(std::move(respond)));
}

}  // namespace coilward
