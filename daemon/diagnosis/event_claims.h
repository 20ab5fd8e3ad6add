// Findings that one event shows without weighing zones against each other: a silent or frozen sensor, an
// impossible value, current without command, a missed turn.
#pragma once

#include <functional>
#include <map>
#include <set>

#include "daemon/config/config.h"
#include "daemon/diagnosis/finding_book.h"
#include "daemon/draw/zone_electrics.h"
#include "daemon/runs/run_tracker.h"

namespace coilward {

// Thread: one at a time. config and book outlive it.
class EventClaims {
 public:
  EventClaims(const Config& config, FindingBook& book) : config_(config), book_(book) {}

  // normal_of: the zone's normal holding draw in amps.
  void idle(const IdleEvent& event, const std::function<double(int zone)>& normal_of);
  void silent(const Run& run, UtcTime now);     // commanded, and nothing heard
  void heard_run(const Run& run, UtcTime now);  // a run with readings: ends silence and missed turns
  // What an output seems to carry while off, in amps; NaN: nothing. It really does, or its sensor's zero
  // moved: the next run tells.
  double uncommanded_amps(int zone) const;
  void zero_moved(int zone, UtcTime now);
  // What its sensor says of the output is nothing to go by.
  bool frozen(int zone) const { return frozen_.contains(zone); }
  void implausible(Channel channel, double value, UtcTime now);
  // left_time: its turn passed empty; false: the next one started at once, again and again.
  void missed(int zone, UtcTime expected, bool left_time, UtcTime now);
  // Has not run once since the watch began, though others did; and all of those beyond one stretch of common.
  void never_ran(int zone, bool commanded, UtcTime now);
  void never_ran_beyond(const CommonSegment& segment, const std::vector<int>& zones, UtcTime now);
  // Nothing has run for longer than any delay explains. commanded: the controller says when it switches one
  // on, and did not; supply_volts: now, NaN where not known.
  void all_silent(UtcTime since, bool commanded, double supply_volts, UtcTime now);

  Json save() const;
  void restore(const Json& saved);

 private:
  bool of_site(const IdleEvent& event);
  void stale_changed(UtcTime now);
  void supply_lost(const IdleEvent& event);
  std::vector<int> all_zones() const;
  std::vector<int> all_outputs() const;
  void uncommanded(const IdleEvent& event, double normal);
  void sensor(const std::string& what, int zone, double probability, double observed, double expected,
              const std::string& detail, UtcTime now);

  const Config& config_;
  FindingBook& book_;
  std::set<int> stale_;                // zones whose sensor went quiet
  std::set<int> unheard_;              // those of them that were never heard
  std::set<int> frozen_;               // and those that repeat themselves
  std::map<int, double> uncommanded_;  // amps, by zone
  bool stale_supply_ = false, link_silent_ = false, all_silent_ = false;
};

}  // namespace coilward
