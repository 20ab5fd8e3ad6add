#include "daemon/diagnosis/wording.h"

#include <fmt/format.h>

namespace coilward {
namespace {

// Below this part of its normal draw a coil may no longer lift its plunger (common practice: pull-in at 70 to
// 80 % of the rated volts).
constexpr double kMayNotLift = 0.75;

std::string_view sentence(Fault fault, bool several) {
  switch (fault) {
    case Fault::open_circuit:
      return "took no current when switched on; its wire, a splice or its coil is broken.";
    case Fault::failed_common:
      return several ? "are dead together; the common they share is broken or parted."
                     : "is dead; its common is broken or parted.";
    case Fault::shorted_coil:
      return "draws too much; its coil or its wires are shorted.";
    case Fault::high_resistance:
      return "draws less than it did; a splice or wire has gained resistance.";
    case Fault::common_high_resistance:
      return several ? "lost draw by the same added ohms; a splice in their common is going bad."
                     : "lost draw; a splice in its common is going bad.";
    case Fault::partial_open:
      return "lost part of its draw in one step; one of its valves is disconnected.";
    case Fault::crossed_wires:
      return "each draw the sum of both; their wires touch and both valves open.";
    case Fault::plunger_not_seated:
      return "stays at its inrush current; the plunger does not lift or seat, and the coil runs hot.";
    case Fault::earth_leakage:
      return "sends current that does not come back on the common; it leaks to earth.";
    case Fault::supply_low:
      return "get too few volts; the transformer's secondary is low.";
    case Fault::supply_lost:
      return "get nothing; the transformer's secondary is dead (fuse, breaker, unplugged).";
    case Fault::stuck_on:
      return "carries current without being switched on; the output is stuck or leaking.";
    case Fault::missed_run:
      return "did not run when it should have.";
    case Fault::sensor_fault:
      return several ? "have sensors that cannot be trusted." : "has a sensor that cannot be trusted.";
  }
  return "";
}

bool held(const RepairedZone& zone) {
  return !zone.cut_out && zone.after_amps >= zone.low_amps && zone.after_amps <= zone.high_amps;
}

std::string before_words(const RepairedZone& zone) {
  std::string text;
  if (measured(zone.fault_amps)) text += fmt::format("; with the fault it drew {:.3f} A", zone.fault_amps);
  if (measured(zone.fault_ohms) && zone.fault_ohms >= 1)
    text += fmt::format(", as {:.0f} ohms too many in series would make it", zone.fault_ohms);
  if (measured(zone.before_amps))
    text += fmt::format("{} before that {:.3f} A", text.empty() ? "; it drew" : ",", zone.before_amps);
  return text;
}

// What it may be instead.
std::string doubt_words(const RepairedZone& zone, bool new_coil) {
  if (zone.cut_out) return " Its current was cut off in that run: a short is left.";
  if (zone.after_amps > zone.high_amps)
    return new_coil ? " The new coil is another than the configuration says, or turns of it are shorted."
                    : " Turns of its coil are shorted, its plunger does not seat, or another coil was put "
                      "in; then say so "
                      "(repaired --new-coil).";
  if (!measured(zone.left_ohms)) return " It is still broken somewhere.";
  return fmt::format(" About {:.0f} ohms are left in its wire or a splice{}", zone.left_ohms,
                     new_coil ? ", or the new coil is another than the configuration says."
                              : ", or another coil was put in; then say so (repaired --new-coil).");
}

}  // namespace

std::string zones_text(const std::vector<int>& zones) {
  if (zones.empty()) return "The site";
  if (zones.size() == 1)
    return zones[0] == kMasterZone ? "The master output" : fmt::format("Zone {}", zones[0]);
  std::string text = "Zones ";
  for (std::size_t i = 0; i < zones.size(); ++i) {
    if (i > 0) text += i + 1 == zones.size() ? " and " : ", ";
    text += zones[i] == kMasterZone ? "master" : std::to_string(zones[i]);
  }
  return text;
}

std::string repair_words(const RepairProof& repair) {
  std::string text;
  for (const RepairedZone& zone : repair.zones) {
    if (!measured(zone.after_amps)) continue;
    if (!text.empty()) text += ' ';
    text += fmt::format("{} draws {:.3f} A {} {:.3f} to {:.3f} A{}{}.{}", zones_text({zone.zone}),
                        zone.after_amps, held(zone) ? "and should draw" : "but should draw", zone.low_amps,
                        zone.high_amps, zone.by_circuit ? " by its rating and wire" : "", before_words(zone),
                        held(zone) ? "" : doubt_words(zone, repair.new_coil));
  }
  return text;
}

std::string summary_of(Fault fault, const std::vector<int>& zones, const std::string& detail) {
  std::string text = fmt::format("{} {}", zones_text(zones), sentence(fault, zones.size() > 1));
  if (!detail.empty()) text += " " + detail;
  return text;
}

Severity severity_of(Fault fault, double strength) {
  switch (fault) {
    case Fault::open_circuit:
    case Fault::failed_common:
    case Fault::shorted_coil:
    case Fault::partial_open:
    case Fault::plunger_not_seated:
    case Fault::supply_lost:
    case Fault::stuck_on:
    case Fault::missed_run:
      return Severity::urgent;
    case Fault::high_resistance:
    case Fault::common_high_resistance:
    case Fault::supply_low:
      return strength < kMayNotLift ? Severity::urgent : Severity::soon;
    case Fault::crossed_wires:
    case Fault::earth_leakage:
      return Severity::soon;
    case Fault::sensor_fault:
      return Severity::watch;
  }
  return Severity::watch;
}

}  // namespace coilward
