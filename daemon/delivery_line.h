// Every notifier and exporter of the configuration with its runner.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "daemon/base/clock.h"
#include "daemon/config/config.h"
#include "daemon/delivery/delivery_state.h"
#include "daemon/history/state_rows.h"
#include "daemon/host/plugin_host.h"
#include "daemon/web/site_access.h"

namespace coilward {

// Thread: any, once started.
class DeliveryLine {
 public:
  // Creates the plugins; bad_config says which and why. Nothing runs yet. clock and config live until the
  // process ends.
  static Result<std::unique_ptr<DeliveryLine>> make(const Config& config, PluginHost& host,
                                                    const Clock& clock);
  ~DeliveryLine();

  // Starts the threads on the two databases, which exist.
  void start(const std::string& state_file, const std::string& history_file);
  void wake();
  void deliver_unsaved(const std::vector<OutboxRow>& rows);
  // answer is called on the runner's thread, or at once: not_found.
  void test(const std::string& notifier, const std::string& alert_json,
            std::function<void(Result<Json>)> answer);
  // In the order of the configuration, those that run.
  std::vector<NotifierView> notifiers() const;
  // The same, for whoever watches them.
  std::vector<DeliveryState> states() const;
  // Since when the message waits that has waited longest; kNever: none does, or it cannot be said.
  UtcTime oldest_waiting() const;
  void add_health(std::vector<HealthStage>& list) const;
  void add_metrics(std::vector<Metric>& list) const;
  bool stop(std::chrono::milliseconds limit);

 private:
  class Parts;
  class StandIns;
  explicit DeliveryLine(std::unique_ptr<Parts> parts);
  std::unique_ptr<Parts> parts_;
};

}  // namespace coilward
