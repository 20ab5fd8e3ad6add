// The uplink to the fleet as the daemon wires it: what /healthz, /metrics and the core see of it.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "daemon/fleet/uplink/uplink.h"
#include "daemon/web/site_access.h"

namespace coilward {

// Thread: the core's, except wake. Does nothing where the configuration has no [fleet].
class UplinkLine {
 public:
  // Errors as Uplink::open.
  static Result<UplinkLine> open(const Config& config, const std::string& version, const Clock& clock);

  void start();
  void wake();  // thread: any
  // All stages but this one, so that the contractor sees what is wrong with coilward itself.
  void tell(const std::vector<HealthStage>& stages);
  void add_health(std::vector<HealthStage>& list) const;
  void add_metrics(std::vector<Metric>& list) const;
  bool stop(std::chrono::milliseconds limit);  // as Uplink::stop

 private:
  std::unique_ptr<Uplink> uplink_;
  std::string told_;
};

}  // namespace coilward
