#include "tools/evaluation/score.h"

#include <algorithm>
#include <map>

#include "tools/evaluation/deadline.h"

namespace coilward::evaluate {
namespace {

// A fault's end shows only when its zones run again, which many programmes do every third day.
constexpr Millis kAfterwards = std::chrono::hours(96);
// From these added ohms on a fault in the wires should have been said: with and without the switch-on's
// burst.
constexpr double kOhmsWithBurst = 10, kOhmsWithout = 18;

bool overlap(const std::vector<int>& a, const std::vector<int>& b) {
  return std::any_of(a.begin(), a.end(),
                     [&](int zone) { return std::binary_search(b.begin(), b.end(), zone); });
}

bool same_class(Fault said, const TrueFault& truth) {
  if (said == truth.fault) return true;
  if (truth.zones.size() != 1) return false;
  const auto pair = [&](Fault a, Fault b) {
    return (said == a && truth.fault == b) || (said == b && truth.fault == a);
  };
  return pair(Fault::open_circuit, Fault::failed_common) ||
         pair(Fault::high_resistance, Fault::common_high_resistance);
}

// These reach the master valve's output as well where the site has one; the truth lists zones alone.
bool reaches_master(const TrueFault& fault) {
  switch (fault.fault) {
    case Fault::failed_common:
    case Fault::common_high_resistance:
    case Fault::supply_low:
    case Fault::supply_lost:
      return true;
    case Fault::sensor_fault:
      return fault.zones.size() > 1;
    default:
      return false;
  }
}

std::vector<int> without_master(std::vector<int> zones) {
  std::erase(zones, kMasterZone);
  return zones;
}

bool concerns(const TrueFault& fault, const std::vector<int>& zones) {
  if (zones.empty() || overlap(zones, fault.zones)) return true;
  return reaches_master(fault) && zones.front() == kMasterZone;
}

bool grows(const TrueFault& fault) {
  return fault.fault == Fault::high_resistance || fault.fault == Fault::common_high_resistance;
}

class FaultJudge {
 public:
  FaultJudge(const SiteRecord& record, const std::vector<Told>& told, const TrueFault& fault)
      : record_(record), told_(told), fault_(fault) {}

  FaultScore judge() {
    find_said();
    if (const Told* it = held(true)) {
      settle(Outcome::right, *it);
    } else if ((it = held(false))) {
      settle(same_class(it->finding.fault, fault_) ? Outcome::wrong_zones : Outcome::misnamed, *it);
    } else if (score_.said) {
      settle(Outcome::withdrawn, told_[*score_.said]);
    } else {
      score_.outcome = Outcome::missed;
    }
    if (score_.outcome == Outcome::missed && !could_be_said()) score_.outcome = Outcome::not_counted;
    if (fault_.runs.empty() && fault_.fault != Fault::stuck_on) score_.outcome = Outcome::not_counted;
    if (score_.outcome != Outcome::right && beneath_a_lost_supply()) score_.outcome = Outcome::not_counted;
    return score_;
  }

 private:
  // Without volts no run of it shows anything.
  bool beneath_a_lost_supply() const {
    const auto hides = [&](const TrueFault& other) {
      return &other != &fault_ && other.fault == Fault::supply_lost &&
             std::all_of(fault_.runs.begin(), fault_.runs.end(), [&](const AffectedRun& run) {
               return run.start >= other.begin && run.start < other.end;
             });
    };
    return fault_.fault != Fault::supply_lost &&
           std::any_of(record_.faults.begin(), record_.faults.end(), hides);
  }

  void find_said() {
    for (std::size_t i = 0; i < told_.size() && !score_.said; ++i)
      if (told_[i].at >= fault_.begin && told_[i].at <= fault_.end && told_[i].finding.is_open() &&
          says(told_[i].finding, fault_))
        score_.said = i;
    if (!score_.said) return;
    const UtcTime at = told_[*score_.said].at;
    for (const AffectedRun& run : fault_.runs) {
      if (run.start > at) break;
      ++score_.runs_until;
      score_.ohms_said = run.ohms;
    }
    const UtcTime first = fault_.runs.empty() ? fault_.begin : fault_.runs.front().start;
    score_.hours_until = std::max(0.0, static_cast<double>((at - first).count()) / 3.6e6);
    const auto due = deadline(fault_, record_.offered);
    score_.timely = due && at <= *due;
  }

  // The finding about it that was open when it ended: exactly it, or something else of its zones. A fault
  // that comes and goes may have been closed in between.
  const Told* held(bool exact) const {
    std::map<std::string, const Told*> latest, latest_open;
    for (const Told& it : told_) {
      if (it.at > fault_.end) break;
      latest[it.finding.id] = &it;
      if (it.finding.is_open() && it.at >= fault_.begin) latest_open[it.finding.id] = &it;
    }
    const bool closing_is_fair = fault_.comes_and_goes || fault_.fault == Fault::stuck_on;
    const Told* best = nullptr;
    for (const auto& [id, it] : exact&& closing_is_fair ? latest_open : latest)
      if (it->finding.is_open() && fits(*it, exact) && (!best || better(*it, *best))) best = it;
    return best;
  }

  bool fits(const Told& it, bool exact) const {
    if (exact) return says(it.finding, fault_);
    if (!concerns(fault_, it.finding.zones)) return false;
    return std::none_of(record_.faults.begin(), record_.faults.end(), [&](const TrueFault& other) {
      return &other != &fault_ && says(it.finding, other) && explains(other, it.finding, it.at);
    });
  }

  bool better(const Told& a, const Told& b) const {
    const bool class_a = same_class(a.finding.fault, fault_), class_b = same_class(b.finding.fault, fault_);
    return class_a != class_b ? class_a : a.finding.probability > b.finding.probability;
  }

  void settle(Outcome outcome, const Told& it) {
    score_.outcome = outcome;
    score_.named = it.finding.fault;
    score_.probability = it.finding.probability;
    if (outcome == Outcome::right && fault_.fault == Fault::failed_common && fault_.from != fault_.to &&
        it.finding.fault == Fault::failed_common)
      score_.segment_right = !it.finding.where.empty() && it.finding.where[0].from == fault_.from &&
                             it.finding.where[0].to == fault_.to;
  }

  bool could_be_said() const {
    if (!deadline(fault_, record_.offered)) return false;
    if (!grows(fault_)) return true;
    const double enough = record_.offered.burst ? kOhmsWithBurst : kOhmsWithout;
    return std::any_of(fault_.runs.begin(), fault_.runs.end(),
                       [&](const AffectedRun& run) { return run.ohms >= enough; });
  }

  const SiteRecord& record_;
  const std::vector<Told>& told_;
  const TrueFault& fault_;
  FaultScore score_;
};

bool comes_true(const Told& it, const SiteRecord& record) {
  return std::any_of(record.faults.begin(), record.faults.end(), [&](const TrueFault& fault) {
    return says(it.finding, fault) && explains(fault, it.finding, it.at);
  });
}

void score_findings(const SiteRecord& record, const std::vector<Told>& told, SiteScore& score) {
  std::map<std::string, const Told*> last;
  std::vector<std::string> order;
  for (std::size_t i = 0; i < told.size(); ++i) {
    const Told& it = told[i];
    if (!it.finding.is_open()) continue;
    const bool first = !last.contains(it.finding.id);
    last[it.finding.id] = &it;
    if (!first) continue;
    order.push_back(it.finding.id);
    score.first.push_back({it.finding.probability, comes_true(it, record)});
    if (std::none_of(record.faults.begin(), record.faults.end(),
                     [&](const TrueFault& fault) { return explains(fault, it.finding, it.at); }))
      score.false_findings.push_back(i);
  }
  for (const std::string& id : order)
    score.last.push_back({last[id]->finding.probability, comes_true(*last[id], record)});
}

double days_between(UtcTime from, UtcTime to) {
  return to > from ? static_cast<double>((to - from).count()) / 86.4e6 : 0;
}

// Zone-days outside of every fault of the zone and of what follows it.
double unexplained_days(const SiteRecord& record) {
  double days = 0;
  for (const int zone : record.zones) {
    std::vector<std::pair<UtcTime, UtcTime>> taken;
    for (const TrueFault& fault : record.faults)
      if (std::binary_search(fault.zones.begin(), fault.zones.end(), zone))
        taken.emplace_back(fault.begin, std::min(record.end, fault.end + kAfterwards));
    std::sort(taken.begin(), taken.end());
    UtcTime free = record.start;
    for (const auto& [from, to] : taken) {
      days += days_between(free, from);
      free = std::max(free, to);
    }
    days += days_between(free, record.end);
  }
  return days;
}

}  // namespace

const char* outcome_name(Outcome outcome) {
  constexpr const char* kNames[] = {"right", "wrong zones", "misnamed", "withdrawn", "missed", "not counted"};
  return kNames[static_cast<int>(outcome)];
}

bool says(const Finding& finding, const TrueFault& fault) {
  if (!same_class(finding.fault, fault)) return false;
  return finding.zones == fault.zones ||
         (reaches_master(fault) && without_master(finding.zones) == fault.zones);
}

bool explains(const TrueFault& fault, const Finding& finding, UtcTime at) {
  if (at < fault.begin || at > fault.end + kAfterwards) return false;
  return concerns(fault, finding.zones);
}

SiteScore score(const SiteRecord& record, const std::vector<Told>& told) {
  SiteScore score;
  for (const TrueFault& fault : record.faults)
    score.faults.push_back(FaultJudge(record, told, fault).judge());
  score_findings(record, told, score);
  score.unexplained_zone_days = unexplained_days(record);
  return score;
}

}  // namespace coilward::evaluate
