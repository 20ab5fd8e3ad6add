#include "daemon/commission_desk.h"

#include <fmt/format.h>

#include <boost/asio/post.hpp>
#include <fstream>
#include <sstream>

namespace coilward {
namespace {

Result<std::string> text_of_file(const std::string& path) {
  std::ostringstream text;
  std::ifstream file(path, std::ios::binary);
  if (!file || !(text << file.rdbuf())) return Error{Cause::world, path + " cannot be read"};
  return text.str();
}

}  // namespace

LiveZones live_zones_of(const SiteAccess& site) {
  LiveZones zones;
  for (const ZoneState& zone : site.zones())
    if (zone.number != kMasterZone) zones.push_back({zone.number, zone.latest_amps, zone.latest_time});
  const auto open = site.findings(false);
  if (!open) return zones;
  for (const Finding& finding : *open)
    for (const Evidence& e : finding.evidence)
      for (LiveZone& zone : zones)
        if (finding.fault == Fault::sensor_fault && !measured(e.low) &&
            e.channel == fmt::format("zone/{}/current", zone.number))
          zone.refused = e.observed;
  return zones;
}

Result<bool> SiteCommissionDesk::begin() {
  auto before = text_of_file(config_.file);
  if (!before) return before.error();
  GuidedLinks links;
  links.post = [this](std::function<void()> action) { boost::asio::post(core_, std::move(action)); };
  links.live = [this]() -> Result<LiveZones> { return live_zones_of(site_()); };
  links.now = [this] { return clock_.utc(); };
  links.before = std::move(*before);
  walk_ = std::make_unique<GuidedWalk>(config_, std::move(links));
  return true;
}

Result<bool> SiteCommissionDesk::answer(int step, const std::string& text, std::function<void()> then) {
  if (!walk_) return Error{Cause::not_found, "nothing is asked: begin anew"};
  return walk_->answer(step, text, std::move(then));
}

}  // namespace coilward
