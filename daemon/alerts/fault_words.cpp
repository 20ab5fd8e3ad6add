#include "daemon/alerts/fault_words.h"

#include <fmt/format.h>

#include <algorithm>

#include "daemon/locate/locate.h"

namespace coilward {
namespace {

std::string key_of(const char* table, Fault fault) { return fmt::format("{}.{}", table, fault_name(fault)); }

std::string zone_text(const Finding& finding, const Words& words) {
  return finding.zones.empty() ? words.text("next.a_zone")
                               : words.say("next.zone", {{"number", std::to_string(finding.zones.front())}});
}

std::string place_text(const std::string& name, const Words& words) {
  if (name == kControllerName) return words.text("next.far_controller");
  if (name == kValveName) return words.text("next.far_valve");
  return words.say("next.far_box", {{"box", name}});
}

// Where to stand for the volts that leave the least work: as `coilward locate` would say, the zones that are
// not in the finding taken to draw; else the far end of the likeliest stretch.
std::string far_place(const Finding& finding, const Config& config) {
  LocateInput input{config, finding, {}, kNotMeasured, {}};
  for (const ZoneConfig& zone : config.zones)
    if (std::find(finding.zones.begin(), finding.zones.end(), zone.number) == finding.zones.end())
      input.neighbours.push_back({zone.number, true, true});
  const auto next = locate_fault(input).next;
  if (next && next->kind == ReadingKind::volts_on && next->at != kControllerName) return next->at;
  return finding.where.empty() ? std::string(kValveName) : finding.where.front().to;
}

// Only these say a place: working it out takes a while.
bool names_a_place(Fault fault) {
  return fault == Fault::open_circuit || fault == Fault::failed_common || fault == Fault::high_resistance ||
         fault == Fault::common_high_resistance;
}

std::string joined(const Words& words, std::initializer_list<const char*> keys) {
  std::string text;
  for (const char* key : keys) text += (text.empty() ? "" : " ") + words.text(fmt::format("care.{}", key));
  return text;
}

}  // namespace

std::string_view fault_phrase(Fault fault, const Words& words) { return words.text(key_of("phrase", fault)); }

std::string next_reading(const Finding& f, const Config& config, const Words& words) {
  const std::string far = names_a_place(f.fault) ? place_text(far_place(f, config), words) : std::string();
  return words.say(key_of("next", f.fault), {{"zone", zone_text(f, words)},
                                             {"far", far},
                                             {"test_source", words.text("next.test_source")},
                                             {"volts", fmt::format("{:g}", config.supply.volts)}});
}

std::vector<std::string> visit_cautions(Fault fault, const Words& words) {
  std::vector<std::string> list;
  if (fault == Fault::shorted_coil) list.push_back(words.text("care.overheat"));
  if (fault == Fault::sensor_fault) list.push_back(words.text("care.wires_off"));
  for (const char* key : {"care.wet_box", "care.limited", "care.digging", "care.codes"})
    list.push_back(words.text(key));
  return list;
}

std::string cautions(Fault fault, const Words& words) {
  switch (fault) {
    case Fault::supply_low:
    case Fault::supply_lost:
    case Fault::stuck_on:
      return joined(words, {"limited", "codes"});
    case Fault::missed_run:
      return {};
    case Fault::sensor_fault:
      return joined(words, {"wires_off", "limited"});
    case Fault::shorted_coil:
      return joined(words, {"overheat", "wet_box", "limited", "digging", "codes"});
    default:
      return joined(words, {"wet_box", "limited", "digging", "codes"});
  }
}

}  // namespace coilward
