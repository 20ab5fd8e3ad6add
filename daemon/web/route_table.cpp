// Every route, and what it needs of who asks.
#include <array>
#include <vector>

#include "daemon/web/api_route.h"
#include "daemon/web/commission_routes.h"
#include "daemon/web/note_routes.h"
#include "daemon/web/visit_routes.h"

namespace coilward {
namespace {

constexpr std::string_view kHistoryKeys = "since until every format";

constexpr std::array kRoutes = {
    RouteEntry{"GET", "/", Need::read, "said", get_page, nullptr, Face::page},
    RouteEntry{"GET", "/zone/{zone}", Need::read, "range until lay said", get_zone_page, nullptr, Face::page},
    RouteEntry{"GET", "/zone/{zone}/live", Need::read, "said", get_zone_live_page, nullptr, Face::page},
    RouteEntry{"GET", "/zone/{zone}/test-run", Need::technician, "", get_test_run_page, nullptr, Face::page},
    RouteEntry{"POST", "/zone/{zone}/test-run", Need::technician, "token seconds confirm by", act_test_run,
               nullptr, Face::page},
    RouteEntry{"POST", "/zone/{zone}/test-run/end", Need::technician, "token by", act_test_run_end, nullptr,
               Face::page},
    RouteEntry{"GET", "/finding/{id}", Need::read, "said", nullptr, get_finding_page, Face::page},
    RouteEntry{"POST", "/finding/{id}/acknowledge", Need::acknowledge, "token by for", act_acknowledge,
               nullptr, Face::page},
    RouteEntry{"POST", "/finding/{id}/test-reading", Need::technician,
               "token at volts_on ohms toward source_volts volts_to_earth conductor by", act_test_reading,
               nullptr, Face::page},
    RouteEntry{"POST", "/pause", Need::technician, "token zone for by", act_pause, nullptr, Face::page},
    RouteEntry{"POST", "/resume", Need::technician, "token zone by", act_resume, nullptr, Face::page},
    RouteEntry{"POST", "/repaired", Need::technician, "token zone common new_coil by", act_repaired, nullptr,
               Face::page},
    RouteEntry{"GET", "/told", Need::technician, "said", get_told_page, nullptr, Face::page},
    RouteEntry{"POST", "/told/{notifier}/test", Need::technician, "token", nullptr, act_test_alert,
               Face::page},
    RouteEntry{"POST", "/told/{notifier}/phones", Need::technician, "token endpoint p256dh auth label",
               act_add_phone, nullptr, Face::page},
    RouteEntry{"POST", "/told/{notifier}/phones/{phone}/remove", Need::technician, "token", act_remove_phone,
               nullptr, Face::page},
    RouteEntry{"GET", "/login", Need::open, "next said", get_login_page, nullptr, Face::page},
    RouteEntry{"POST", "/login", Need::open, "token name password next", nullptr, act_log_in, Face::page},
    RouteEntry{"POST", "/logout", Need::person, "token", nullptr, act_log_out, Face::page},
    RouteEntry{"GET", "/set-up", Need::open, "", get_set_up_page, nullptr, Face::page},
    RouteEntry{"POST", "/set-up", Need::open, "token code name password again", nullptr, act_set_up,
               Face::page},
    RouteEntry{"GET", "/account", Need::person, "said", get_account_page, nullptr, Face::page},
    RouteEntry{"POST", "/account/password", Need::person, "token old password again", nullptr,
               act_change_password, Face::page},
    RouteEntry{"POST", "/account/log-out-elsewhere", Need::person, "token", nullptr, act_log_out_elsewhere,
               Face::page},
    RouteEntry{"GET", "/share", Need::technician, "said", get_share_page, nullptr, Face::page},
    RouteEntry{"POST", "/share", Need::technician, "token label days", nullptr, act_make_share, Face::page},
    RouteEntry{"POST", "/share/{id}/end", Need::technician, "token", nullptr, act_end_share, Face::page},
    RouteEntry{"GET", "/link/{secret}", Need::open, "", open_link, nullptr, Face::page},
    RouteEntry{"GET", "/worker.js", Need::open, "", get_worker},
    RouteEntry{"GET", "/app.webmanifest", Need::open, "", get_manifest},
    RouteEntry{"GET", "/assets/{name}", Need::open, "v", get_asset},
    RouteEntry{"GET", "/events", Need::read, "zone", get_events},
    RouteEntry{"GET", "/healthz", Need::open, "", get_healthz},
    RouteEntry{"GET", "/metrics", Need::read, "", get_metrics},
    RouteEntry{"GET", "/api/v1/openapi.json", Need::open, "", get_openapi},
    RouteEntry{"GET", "/api/v1/session", Need::person, "", get_session},
    RouteEntry{"GET", "/api/v1/people", Need::local, "", get_people},
    RouteEntry{"POST", "/api/v1/people", Need::local, "name role password", nullptr, post_person},
    RouteEntry{"POST", "/api/v1/people/{name}/password", Need::local, "password", nullptr, post_password},
    RouteEntry{"POST", "/api/v1/people/{name}/remove", Need::local, "", nullptr, post_remove_person},
    RouteEntry{"GET", "/api/v1/shares", Need::technician, "", get_shares},
    RouteEntry{"POST", "/api/v1/shares", Need::technician, "label days by", nullptr, post_share},
    RouteEntry{"POST", "/api/v1/shares/{id}/end", Need::technician, "", nullptr, post_end_share},
    RouteEntry{"GET", "/api/v1/site", Need::read, "", get_site},
    RouteEntry{"GET", "/api/v1/zones", Need::read, "", get_zones},
    RouteEntry{"GET", "/api/v1/zones/{zone}", Need::read, "", get_zone},
    RouteEntry{"GET", "/api/v1/zones/{zone}/now", Need::read, "", get_zone_now},
    RouteEntry{"GET", "/api/v1/zones/{zone}/history", Need::read, kHistoryKeys, get_zone_history},
    RouteEntry{"GET", "/api/v1/history", Need::read, "channel since until every format", get_history},
    RouteEntry{"GET", "/api/v1/runs", Need::read, "zone since until format", get_runs},
    RouteEntry{"GET", "/api/v1/export", Need::read, "what since until format", get_export},
    RouteEntry{"GET", "/api/v1/findings", Need::read, "all", get_findings},
    RouteEntry{"GET", "/api/v1/findings/{id}", Need::read, "", get_finding},
    RouteEntry{"GET", "/api/v1/findings/{id}/changes", Need::read, "", get_finding_changes},
    RouteEntry{"GET", "/api/v1/findings/{id}/places", Need::read, "", nullptr, get_places},
    RouteEntry{"GET", "/api/v1/findings/{id}/test-readings", Need::read, "", nullptr, get_test_readings},
    RouteEntry{"GET", "/api/v1/test-runs", Need::read, "", get_test_runs},
    RouteEntry{"GET", "/api/v1/health", Need::read, "", get_health},
    RouteEntry{"POST", "/api/v1/findings/{id}/acknowledge", Need::acknowledge, "by for until",
               post_acknowledge},
    RouteEntry{"POST", "/api/v1/findings/{id}/test-readings", Need::technician,
               "at volts_on ohms toward source_volts volts_to_earth conductor by", nullptr,
               post_test_reading},
    RouteEntry{"POST", "/api/v1/pause", Need::technician, "for until zone by reason", post_pause},
    RouteEntry{"POST", "/api/v1/resume", Need::technician, "zone by", post_resume},
    RouteEntry{"POST", "/api/v1/repaired", Need::technician, "zone common new_coil by", post_repaired},
    RouteEntry{"POST", "/api/v1/test-alert", Need::technician, "notifier", nullptr, post_test_alert},
    RouteEntry{"POST", "/api/v1/backup", Need::local, "directory", nullptr, post_backup},
};

}  // namespace

std::span<const RouteEntry> route_table() {
  static const std::vector<RouteEntry> all = [] {
    std::vector<RouteEntry> list(kRoutes.begin(), kRoutes.end());
    for (const std::span<const RouteEntry> more :
         {std::span<const RouteEntry>(kVisitRoutes), std::span<const RouteEntry>(kNoteRoutes),
          std::span<const RouteEntry>(kCommissionRoutes)})
      list.insert(list.end(), more.begin(), more.end());
    return list;
  }();
  return all;
}

}  // namespace coilward
