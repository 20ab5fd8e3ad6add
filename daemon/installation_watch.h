// Looks after the installation once a second: tells the site what of it is in trouble, and sends the
// heartbeat while all of it is sound.
#pragma once

#include <functional>

#include "daemon/base/clock.h"
#include "daemon/broker_link.h"
#include "daemon/delivery_line.h"
#include "daemon/door.h"
#include "daemon/heartbeat.h"
#include "daemon/history/keeper.h"
#include "daemon/installation_troubles.h"
#include "daemon/site.h"
#include "daemon/vitals.h"

namespace coilward {

// Thread: the core's. Everything given outlives it.
class InstallationWatch {
 public:
  struct Parts {
    const Config& config;
    const Clock& clock;
    Site& site;
    BrokerLink& broker;
    Keeper& keeper;
    DeliveryLine& delivery;
    const Door& door;
    const Vitals& vitals;
  };
  explicit InstallationWatch(Parts parts);

  void look();
  // Why a new configuration was refused; empty: it was taken.
  void reload_refused(std::string why) { reload_ = std::move(why); }
  // For /healthz, in the order of the path.
  std::vector<HealthStage> health() const;
  // false: the heartbeat's thread could not be ended in time; it is left behind.
  bool stop(std::chrono::milliseconds limit) { return heartbeat_.stop(limit); }

 private:
  PathSigns path_signs() const;
  InstallationSigns signs();
  std::uint64_t lost_lately();
  double outbox_age_s() const;

  Parts parts_;
  Heartbeat heartbeat_;
  std::string reload_;
  std::uint64_t lost_ = 0, lost_before_ = 0;  // by the spool: so far, and when it was last well
  UtcTime lost_at_ = kNever;
  double outbox_age_s_ = 0;
  std::chrono::steady_clock::time_point next_outbox_look_{};
};

}  // namespace coilward
