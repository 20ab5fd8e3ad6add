// The list and one site: read, acknowledged, assigned.
#include <fmt/format.h>

#include "daemon/fleet/server/fleet_pages.h"
#include "daemon/web/html.h"
#include "daemon/web/login_forms.h"
#include "daemon/web/query.h"

namespace coilward {
namespace {

constexpr std::size_t kLongestName = 60, kLongestText = 60;

Result<SiteFilter> filter_of(const FleetCall& call) {
  constexpr std::pair<const char*, VisitNeed> kShow[] = {{"urgent", VisitNeed::urgent},
                                                         {"silent", VisitNeed::silent},
                                                         {"soon", VisitNeed::soon},
                                                         {"watch", VisitNeed::watch},
                                                         {"fine", VisitNeed::none}};
  SiteFilter filter;
  const std::string show = call.query("show");
  for (const auto& [word, need] : kShow)
    if (show == word) filter.need = need;
  if (!show.empty() && !filter.need)
    return Error{Cause::bad_input,
                 fmt::format("show: found '{}'; allowed are urgent, silent, soon, watch, fine", show)};
  filter.text = call.query("find").substr(0, kLongestText);
  if (const std::string page = call.query("page"); !page.empty()) {
    const auto number = parse_number(page, 1, 1'000'000, "page");
    if (!number) return number.error();
    filter.page = *number - 1;
  }
  return filter;
}

std::string site_address(const std::string& site) { return "/site/" + percent_encoded(site); }

// Who has logged in is that one; else what was given.
std::string fleet_acting(const FleetCall& call) {
  return call.visitor.is_person() ? call.visitor.name : short_text(call.field("by"), kLongestName);
}

}  // namespace

// A homeowner has one site only.
Result<ApiResponse> get_fleet_sites(FleetCall& call) {
  const FleetScope& scope = call.visitor.scope;
  if (!scope.site.empty()) return see_other(site_address(scope.site));
  const auto filter = filter_of(call);
  if (!filter) return filter.error();
  const auto list = call.views->sites(scope, *filter);
  if (!list) return list.error();
  const auto name = call.views->organisation_name(scope);
  if (!name) return name.error();
  return sites_page(call, *list, *filter, *name);
}

Result<ApiResponse> get_fleet_site(FleetCall& call) {
  const FleetScope& scope = call.visitor.scope;
  const auto detail = call.views->site(scope, call.args[0]);
  if (!detail) return detail.error();
  if (!call.visitor.may(FleetNeed::assign)) return site_page(call, *detail, {});
  const auto colleagues = call.views->colleagues(scope);
  if (!colleagues) return colleagues.error();
  return site_page(call, *detail, *colleagues);
}

Result<ApiResponse> act_fleet_acknowledge(FleetCall& call) {
  const auto done =
      call.views->acknowledge(call.visitor.scope, call.args[0], call.args[1], fleet_acting(call));
  if (!done) return done.error();
  return see_other(site_address(call.args[0]) + "?said=acknowledged");
}

Result<ApiResponse> act_fleet_assign(FleetCall& call) {
  const std::string to = call.field("to");
  const auto done = call.views->assign(call.visitor.scope, call.args[0], to, call.visitor.name);
  if (!done) return done.error();
  return see_other(site_address(call.args[0]) + (to.empty() ? "?said=nobody" : "?said=assigned"));
}

}  // namespace coilward
