#include "daemon/web/live_events.h"

#include <fmt/format.h>

#include <functional>
#include <nlohmann/json.hpp>
#include <utility>

#include "daemon/web/api_route.h"
#include "daemon/web/html.h"
#include "daemon/web/page_words.h"
#include "daemon/web/query.h"
#include "daemon/web/wiring_svg.h"
#include "daemon/web/zone_now_view.h"

namespace coilward {
namespace {

std::string zone_event(const ZoneState& zone, const SiteView& view) {
  const ZoneWords words = zone_words(zone, view);
  const double place = scale_place(words.amps, zone.normal);
  const Json json = {{"zone", zone.number},
                     {"amps", amps_text(words.amps)},
                     {"when", words.when},
                     {"place", measured(place) ? Json(std::round(place * 1000) / 1000) : Json(nullptr)}};
  return fmt::format("event: zone\ndata: {}\n\n", json.dump());
}

std::string version_of(const SiteView& view, const SiteAccess& site) {
  std::string all;
  for (const Finding& f : view.open)
    all += fmt::format("{} {} {} {:.2f} {}\n", f.id, fault_name(f.fault), f.zones.size(), f.probability,
                       site.acknowledged_by(f.id));
  for (const ZoneState& zone : view.zones)
    all += zone.state + (zone.last_run ? format_rfc3339(zone.last_run->start) : "") + "\n";
  for (const HealthStage& stage : view.trouble) all += stage.name + "\n";
  all += fmt::format("{}\n", site.commission_step());
  for (const AlertPause& pause : site.pauses()) all += format_rfc3339(pause.until) + "\n";
  return fmt::format("{:016x}", std::hash<std::string>()(all));
}

}  // namespace

std::string page_version(const SiteAccess& site) { return version_of(view_of(site), site); }

std::string LiveEvents::next() {
  const SiteView view = view_of(site_);
  std::string out(told_.empty() ? "retry: 3000\n\n" : "");  // ms until a browser comes again after an end
  for (const ZoneState& zone : view.zones) {
    std::string event = zone_event(zone, view);
    if (std::exchange(told_[zone.number], event) != event) out += event;
  }
  const std::string version = version_of(view, site_);
  if (version_ != version) {
    out += fmt::format("event: version\ndata: {}\n\n", version);
    version_ = version;
  }
  return out;
}

std::string ZoneNowEvents::next() {
  constexpr Millis kAtLeast{1000};
  const ZoneNow now = watch_.look();
  const UtcTime present = site_.now();
  const std::string says = fmt::format("{} {} {}", to_ms(now.time), now.on, now.stale);
  if (says == told_ && present >= at_ && present < at_ + kAtLeast) return {};
  const std::string opening(told_.empty() ? "retry: 2000\n\n" : "");
  told_ = says;
  at_ = present;
  const Json json = zone_now_to_json(now, strip_view(now, watch_.strip(), present));
  return opening + fmt::format("event: now\ndata: {}\n\n", json.dump());
}

namespace {

ApiResponse zone_now_events(const Call& call, const std::string& text) {
  const auto number = parse_number(text, 0, kMaxZone, "zone");
  if (!number) return problem(number.error());
  if (!call.site.config().zone(*number))
    return problem({Cause::not_found, fmt::format("the site has no zone {}", *number)});
  ApiResponse response{200, "text/event-stream; charset=utf-8"};
  response.live_step = ZoneNowEvents::kStep;
  response.live = [events = std::make_shared<ZoneNowEvents>(call.site, *number)] { return events->next(); };
  return response;
}

}  // namespace

ApiResponse get_events(const Call& call) {
  if (const std::string zone = call.query("zone"); !zone.empty()) return zone_now_events(call, zone);
  ApiResponse response{200, "text/event-stream; charset=utf-8"};
  response.live = [events = std::make_shared<LiveEvents>(call.site)] { return events->next(); };
  return response;
}

}  // namespace coilward
