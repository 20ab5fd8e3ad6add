#include "tools/evaluation/deadline.h"

#include <algorithm>
#include <set>

namespace coilward::evaluate {
namespace {

// A run's last readings arrive after its end; a turn that stays dark shows by the next, or by its absence.
constexpr Millis kLastReadings = std::chrono::minutes(6), kTurnIsOver = std::chrono::minutes(30);
// What shows while nothing runs gets as long.
constexpr Millis kWhileIdle = std::chrono::minutes(30);

bool of_a_common(const TrueFault& fault) {
  return fault.zones.size() > 1 &&
         (fault.fault == Fault::failed_common || fault.fault == Fault::common_high_resistance);
}

// Without a command channel these leave no current to see a run by.
bool leaves_it_dark(const TrueFault& fault) {
  return fault.fault == Fault::open_circuit || fault.fault == Fault::failed_common ||
         fault.fault == Fault::supply_lost || fault.fault == Fault::missed_run;
}

}  // namespace

std::optional<UtcTime> deadline(const TrueFault& fault, const Offered& offered) {
  if (fault.fault == Fault::stuck_on) return fault.begin + kWhileIdle;
  const bool dark = leaves_it_dark(fault) && !offered.command;
  const std::size_t runs_needed = dark ? 2 : 1, zones_needed = of_a_common(fault) ? 2 : 1;
  std::set<int> zones;
  for (std::size_t i = 0; i < fault.runs.size(); ++i) {
    zones.insert(fault.runs[i].zone);
    if (i + 1 >= runs_needed && zones.size() >= zones_needed)
      return fault.runs[i].end + (dark || fault.fault == Fault::missed_run ? kTurnIsOver : kLastReadings);
  }
  return std::nullopt;
}

}  // namespace coilward::evaluate
