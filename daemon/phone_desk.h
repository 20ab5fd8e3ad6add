// The phones of the webpush notifiers, for the page: their files, which the plugin reads at each delivery.
#pragma once

#include <functional>
#include <map>

#include "daemon/base/clock.h"
#include "daemon/config/config.h"
#include "daemon/web/told_access.h"

namespace coilward {

// Thread: one. config and clock outlive it.
class WebPushDesk final : public PhoneDesk {
 public:
  WebPushDesk(const Config& config, const Clock& clock) : config_(config), clock_(clock) {}
  Result<std::string> key(const std::string& notifier) override;
  Result<std::vector<PhoneView>> phones(const std::string& notifier) override;
  Result<bool> add(const std::string& notifier, const PhoneSubscription& subscription) override;
  Result<bool> remove(const std::string& notifier, const std::string& id) override;

 private:
  template <class Body>
  auto at(const std::string& notifier, Body body) const;
  const Config& config_;
  const Clock& clock_;
};

}  // namespace coilward
