#include "daemon/fleet/server/fleet_visitor.h"

#include <fmt/format.h>

#include "daemon/login/login_book.h"
#include "daemon/login/secret.h"
#include "daemon/web/cookies.h"
#include "daemon/web/http_request.h"

namespace coilward {
namespace {

constexpr std::string_view kRoleNames[] = {"homeowner", "technician", "contractor"};

}  // namespace

std::string_view fleet_role_name(FleetRole role) { return kRoleNames[static_cast<std::size_t>(role)]; }

std::optional<FleetRole> fleet_role_from_name(std::string_view name) {
  for (const FleetRole role : {FleetRole::homeowner, FleetRole::technician, FleetRole::contractor})
    if (fleet_role_name(role) == name) return role;
  return std::nullopt;
}

bool FleetVisitor::may(FleetNeed need) const {
  switch (need) {
    case FleetNeed::open:
      return true;
    case FleetNeed::machine:
      return near;
    case FleetNeed::read:
      return kind != Kind::stranger;
    case FleetNeed::look_after:
      return kind == Kind::unguarded || (is_person() && role != FleetRole::homeowner);
    case FleetNeed::assign:
      return kind == Kind::unguarded || (is_person() && role == FleetRole::contractor);
    case FleetNeed::person:
      return is_person();
  }
  return false;
}

Result<FleetVisitor> fleet_visitor(Postgres& database, const Asker& asker) {
  const std::string secret = cookie_value(asker.cookies, kSessionCookie, asker.secure);
  const auto rows = database.run(
      "select anybody, first_organisation, form_secret, name, role, organisation, site from visitor($1, "
      "$2::interval, $3::interval)",
      {secret.empty() ? std::optional<std::string>() : kept_form(secret),
       fmt::format("{} hours", kSessionIdle.count()), fmt::format("{} hours", kSessionLongest.count())});
  if (!rows) return rows.error();
  FleetVisitor visitor;
  visitor.near = is_loopback_address(asker.address);
  visitor.anybody = rows->truth(0, 0);
  visitor.token = derived_secret(rows->text(0, 2), "forms of strangers");
  const auto role = fleet_role_from_name(rows->text(0, 4));
  if (role) {
    visitor.kind = FleetVisitor::Kind::person;
    visitor.role = *role;
    visitor.name = rows->text(0, 3);
    visitor.secret = secret;
    visitor.scope = {std::string(rows->text(0, 5)), std::string(rows->text(0, 6))};
    visitor.token = derived_secret(secret, "forms");
  } else if (!visitor.anybody && visitor.near) {
    visitor.kind = FleetVisitor::Kind::unguarded;
    visitor.scope = {std::string(rows->text(0, 1)), {}};
  }
  return visitor;
}

}  // namespace coilward
