#include "daemon/web/site_snapshot.h"

namespace coilward {

std::string site_snapshot_text(const SiteSnapshot& parts) {
  const Json json = {{"pipeline", parts.pipeline},
                     {"alerts", parts.alerts},
                     {"intake", parts.intake},
                     {"notices", parts.notices},
                     {"routes", parts.routes}};
  return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

Result<SiteSnapshot> read_site_snapshot(std::string_view text) {
  if (text.empty()) return SiteSnapshot();
  const Json json = Json::parse(text, nullptr, false);
  if (!json.is_object()) return Error{Cause::bad_input, "the snapshot in state.db is not a JSON object"};
  return SiteSnapshot{json.value("pipeline", Json()), json.value("alerts", Json()),
                      json.value("intake", Json()), json.value("notices", Json()),
                      json.value("routes", Json())};
}

}  // namespace coilward
