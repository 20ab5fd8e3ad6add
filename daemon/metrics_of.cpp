#include "daemon/metrics_of.h"

namespace coilward {

// The law of daemon/intake/intake.h can be checked from these: received = stored + rejected + dropped +
// duplicates.
void add_intake_metrics(const IntakeCounters& c, std::vector<Metric>& list) {
  add_counter(list, "coilward_samples_received", "Values found in messages.", double(c.received));
  add_counter(list, "coilward_samples_stored", "Values that became readings.", double(c.stored));
  for (std::size_t i = 0; i < kRejects; ++i)
    add_counter(list, "coilward_samples_rejected", "Values refused, by reason.", double(c.rejected[i]),
                {{"reason", std::string(reject_name(static_cast<Reject>(i)))}});
  for (std::size_t i = 0; i < kDrops; ++i)
    add_counter(list, "coilward_samples_dropped", "Values lost, by reason.", double(c.dropped[i]),
                {{"reason", std::string(drop_name(static_cast<Drop>(i)))}});
  add_counter(list, "coilward_samples_duplicate", "Values that had come before.", double(c.duplicates));
}

void add_keeper_metrics(const KeeperHealth& h, std::vector<Metric>& list) {
  add_counter(list, "coilward_commits", "Commits to the disk.", double(h.commits));
  add_counter(list, "coilward_history_dropped", "Readings given up for want of disk.",
              double(h.dropped_readings));
  add_gauge(list, "coilward_history_waiting", "Readings not on the disk yet.", double(h.waiting_readings));
  add_gauge(list, "coilward_history_ok", "1 while history can be written.", h.history_ok ? 1 : 0);
  add_gauge(list, "coilward_state_ok", "1 while state can be written.", h.state_ok ? 1 : 0);
}

}  // namespace coilward
