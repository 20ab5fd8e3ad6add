// The walk through a new site for the page: one at a time, on the daemon's own zones.
#pragma once

#include <boost/asio/io_context.hpp>
#include <memory>

#include "daemon/base/clock.h"
#include "daemon/web/commission_access.h"
#include "daemon/web/site_access.h"

namespace coilward {

// What the sensors show, for the walk: the latest values, and those refused as impossible, which a finding
// tells.
LiveZones live_zones_of(const SiteAccess& site);

// Thread: the core's. All of these outlive it; `site` is asked for when it is needed.
class SiteCommissionDesk final : public CommissionDesk {
 public:
  SiteCommissionDesk(boost::asio::io_context& core, const Config& config, const Clock& clock,
                     std::function<const SiteAccess&()> site)
      : core_(core), config_(config), clock_(clock), site_(std::move(site)) {}

  const WalkView* view() const override { return walk_ ? &walk_->view() : nullptr; }
  Result<bool> begin() override;
  Result<bool> answer(int step, const std::string& text, std::function<void()> then) override;
  void end() override { walk_.reset(); }

 private:
  boost::asio::io_context& core_;
  const Config& config_;
  const Clock& clock_;
  const std::function<const SiteAccess&()> site_;
  std::unique_ptr<GuidedWalk> walk_;
};

}  // namespace coilward
