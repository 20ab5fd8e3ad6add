#include <array>

#include "daemon/pipeline.h"

namespace coilward {
namespace {

constexpr std::array<std::string_view, kFaults> kFaultNames = {
    "open_circuit", "failed_common", "shorted_coil",       "high_resistance", "common_high_resistance",
    "partial_open", "crossed_wires", "plunger_not_seated", "earth_leakage",   "supply_low",
    "supply_lost",  "stuck_on",      "missed_run",         "sensor_fault"};
constexpr std::array<std::string_view, 3> kSeverityNames = {"watch", "soon", "urgent"};
constexpr std::array<std::string_view, 4> kRunEndNames = {"running", "switched_off", "cut_out", "silent"};
constexpr std::array<std::string_view, 7> kAlertKindNames = {"opened",       "worse", "repeat", "closed",
                                                             "installation", "test",  "digest"};

template <class Enum, std::size_t N>
std::optional<Enum> find_name(const std::array<std::string_view, N>& names, std::string_view name) {
  for (std::size_t i = 0; i < N; ++i)
    if (names[i] == name) return static_cast<Enum>(i);
  return std::nullopt;
}

}  // namespace

std::string_view fault_name(Fault fault) { return kFaultNames[static_cast<std::size_t>(fault)]; }
std::optional<Fault> fault_from_name(std::string_view name) { return find_name<Fault>(kFaultNames, name); }
std::string_view severity_name(Severity severity) {
  return kSeverityNames[static_cast<std::size_t>(severity)];
}
std::optional<Severity> severity_from_name(std::string_view name) {
  return find_name<Severity>(kSeverityNames, name);
}
std::string_view run_end_name(RunEnd end) { return kRunEndNames[static_cast<std::size_t>(end)]; }
std::string_view alert_kind_name(AlertKind kind) { return kAlertKindNames[static_cast<std::size_t>(kind)]; }

std::string_view channel_unit(ChannelKind kind) {
  switch (kind) {
    case ChannelKind::zone_current:
    case ChannelKind::master_current:
    case ChannelKind::common_current:
      return "A";
    case ChannelKind::zone_voltage:
    case ChannelKind::supply_voltage:
      return "V";
    case ChannelKind::air_temperature:
    case ChannelKind::soil_temperature:
      return "Cel";
    case ChannelKind::zone_command:
    case ChannelKind::master_command:
      return "";
  }
  return "";
}

}  // namespace coilward
