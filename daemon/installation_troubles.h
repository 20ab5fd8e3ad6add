// What of the installation itself is not as it should be: the broker, the sensors, the disk, the clock, the
// ways to people. Told to whoever looks after it, never as a fault of a valve. The texts are
// [installation.KEY] of the catalogue. Thread: any.
#pragma once

#include <string>
#include <vector>

#include "daemon/alerts/notices.h"
#include "daemon/broker_link.h"
#include "daemon/delivery/delivery_state.h"
#include "daemon/runs/run_tracker.h"

namespace coilward {

// What each part says of itself. Ages are in seconds.
struct InstallationSigns {
  BrokerState broker;
  Silence silence;    // of all sensors together
  std::string store;  // why nothing can be recorded; empty: it can
  bool clock_unsure = false;
  std::vector<DeliveryState> notifiers;
  double outbox_age_s = 0;        // since the oldest message waits; 0: none does
  std::uint64_t lost_lately = 0;  // messages that the spool had no room for, of late
  std::string certificate;        // why somebody should look at the page's; empty: nobody need
  std::string reload;             // why the latest configuration was refused; empty: it was not
};

// Messages wait this long for nothing but a failing notifier, which is told by itself (own choice).
inline constexpr double kOutboxWaits_s = 900;
// Zones run about once a day, and a sensor that speaks only then has spoken by now (common practice).
inline constexpr double kNeverHeard_s = 25 * 3600;

// All that last at this moment.
std::vector<SiteTrouble> troubles_of(const InstallationSigns& signs, UtcTime now);

}  // namespace coilward
