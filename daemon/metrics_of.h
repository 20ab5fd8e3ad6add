// Counters of the parts as samples for /metrics.
#pragma once

#include <string>
#include <vector>

#include "daemon/history/keeper.h"
#include "daemon/intake/intake.h"
#include "daemon/web/site_access.h"

namespace coilward {

inline void add_counter(std::vector<Metric>& list, std::string name, std::string help, double value,
                        std::vector<std::pair<std::string, std::string>> labels = {}) {
  list.push_back({std::move(name), std::move(help), Metric::Kind::counter, std::move(labels), value});
}
inline void add_gauge(std::vector<Metric>& list, std::string name, std::string help, double value,
                      std::vector<std::pair<std::string, std::string>> labels = {}) {
  list.push_back({std::move(name), std::move(help), Metric::Kind::gauge, std::move(labels), value});
}

void add_intake_metrics(const IntakeCounters& counters, std::vector<Metric>& list);
void add_keeper_metrics(const KeeperHealth& health, std::vector<Metric>& list);

}  // namespace coilward
