#include "daemon/diagnosis/repair_trial.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "daemon/diagnosis/wording.h"

namespace coilward {
namespace {

// Half the band, as a logarithm. Learned: 99 % of its runs, and the few per cent that a splice made anew and
// a supply that has moved since may add. By the circuit: coils of one make differ by 10 % and a 24 volt
// transformer gives 24 to 28 (both common practice); without a rated current the trade's range, 0.2 to 0.3 A,
// and what lies beside it.
constexpr double kLeastWidth = 0.05, kMostWidth = 0.25, kRatedWidth = 0.20, kUnratedWidth = 0.40;
constexpr double kDeviates99 = 2.576, kDeviates95 = 1.960;
// Less than this of its draw is none at all; a sensor's zero, a leak.
constexpr double kNothing = 0.10;

double learned_width(const NormalDraw& draw) {
  const double sd = std::log(draw.hold_high / draw.hold_amps) / kDeviates95;
  return std::clamp(kDeviates99 * sd, kLeastWidth, kMostWidth);
}

Json number_list(const std::array<double, 2>& both) { return {both[0], both[1]}; }

double ohms_of(const ZoneTrial& trial, double amps, double expected) {
  const double share = amps / expected;
  return share > kNothing ? added_ohms(trial.ohms, trial.reactance, share) : kNotMeasured;
}

}  // namespace

double added_ohms(double ohms, double reactance, double share) {
  if (!(share > 0 && share < 1)) return kNotMeasured;
  const double total = std::hypot(ohms, reactance) / share;
  return std::sqrt(total * total - reactance * reactance) - ohms;
}

ZoneTrial ZoneTrial::before(const DrawModel& model, int index) {
  ZoneTrial trial;
  const NormalDraw plain = model.normal(index, kNotMeasured);
  const double rated = model.site().rated_volts;
  const NormalDraw known = model.normal(index, rated);
  trial.seen.zone = plain.zone;
  trial.learned = !plain.provisional;
  trial.level = {plain.hold_amps / rated, known.hold_amps / rated};
  trial.width = {learned_width(plain), learned_width(known)};
  if (plain.runs > 0) trial.seen.before_amps = plain.hold_amps;
  const auto impedance = model.electrics(index).hold_impedance();
  trial.ohms = impedance.real();
  trial.reactance = impedance.imag();
  return trial;
}

void ZoneTrial::expect_by_circuit(const DrawModel& model, int index) {
  const double rated = model.site().rated_volts;
  const bool known = model.site().zones[static_cast<std::size_t>(index)].rated;
  level = {model.normal(index, kNotMeasured).hold_amps / rated, model.normal(index, rated).hold_amps / rated};
  width.fill(known ? kRatedWidth : kUnratedWidth);
  learned = false;
}

void ZoneTrial::judge(const Run& run, const DrawSample& sample) {
  const std::size_t by = sample.volts_known ? 1 : 0;
  const double expected = level[by] * sample.amps_scale;
  seen.after_amps = std::max(0.0, sample.hold_amps);
  seen.low_amps = expected * std::exp(-width[by]);
  seen.high_amps = expected * std::exp(width[by]);
  seen.run = run.start;
  seen.cut_out = run.ended == RunEnd::cut_out;
  seen.by_circuit = !learned;
  judged = true;
  held = !seen.cut_out && seen.after_amps >= seen.low_amps && seen.after_amps <= seen.high_amps;
  seen.left_ohms = held ? kNotMeasured : ohms_of(*this, seen.after_amps, expected);
}

bool RepairTrial::judge(const Run& run, const DrawSample& sample) {
  if (run.start <= marked || run.inferred || !measured(sample.hold_amps)) return false;
  const auto zone = std::ranges::find_if(zones, [&](const ZoneTrial& z) { return z.seen.zone == run.zone; });
  if (zone == zones.end()) return false;
  zone->judge(run, sample);
  return true;
}

bool RepairTrial::failed() const {
  return std::ranges::any_of(zones, [](const ZoneTrial& z) { return z.judged && !z.held; });
}

bool RepairTrial::proved() const {
  return !failed() && std::ranges::any_of(zones, [](const ZoneTrial& z) { return z.held; });
}

bool RepairTrial::has_failed(int zone) const {
  return std::ranges::any_of(zones,
                             [&](const ZoneTrial& z) { return z.seen.zone == zone && z.judged && !z.held; });
}

void RepairTrial::note_fault(const Finding& finding) {
  for (ZoneTrial& zone : zones)
    for (const Evidence& e : finding.evidence) {
      const std::string channel = zone.seen.zone == kMasterZone
                                      ? std::string("master/current")
                                      : "zone/" + std::to_string(zone.seen.zone) + "/current";
      if (e.channel != channel || !measured(e.observed) || measured(zone.seen.fault_amps)) continue;
      zone.seen.fault_amps = e.observed;
      if (measured(e.expected) && e.expected > 0)
        zone.seen.fault_ohms = ohms_of(zone, e.observed, e.expected);
    }
}

void RepairTrial::continue_from(const RepairTrial& earlier) {
  for (ZoneTrial& zone : zones)
    for (const ZoneTrial& old : earlier.zones) {
      if (old.seen.zone != zone.seen.zone) continue;
      zone.seen.before_amps = old.seen.before_amps;
      zone.seen.fault_amps = old.seen.fault_amps;
      zone.seen.fault_ohms = old.seen.fault_ohms;
      zone.ohms = old.ohms;
      zone.reactance = old.reactance;
      if (new_coil || old.held) continue;
      zone.level = old.level;
      zone.width = old.width;
      zone.learned = old.learned;
    }
}

RepairProof RepairTrial::told() const {
  RepairProof repair;
  repair.marked = marked;
  repair.new_coil = new_coil;
  if (failed())
    repair.proved = false;
  else if (proved())
    repair.proved = true;
  for (const ZoneTrial& zone : zones) repair.zones.push_back(zone.seen);
  repair.words = repair_words(repair);
  return repair;
}

Json RepairTrial::save() const {
  Json list = Json::array();
  for (const ZoneTrial& z : zones)
    list.push_back({{"seen", repaired_zone_to_json(z.seen)},
                    {"level", number_list(z.level)},
                    {"width", number_list(z.width)},
                    {"circuit", {z.ohms, z.reactance}},
                    {"learned", z.learned},
                    {"judged", z.judged},
                    {"held", z.held}});
  return {{"marked", to_ms(marked)}, {"new_coil", new_coil}, {"zones", list}};
}

RepairTrial RepairTrial::restore(const Json& j) {
  RepairTrial trial;
  trial.marked = from_ms(j.at("marked"));
  trial.new_coil = j.at("new_coil");
  for (const Json& z : j.at("zones")) {
    ZoneTrial zone;
    zone.seen = repaired_zone_from_json(z.at("seen"));
    zone.level = z.at("level").get<std::array<double, 2>>();
    zone.width = z.at("width").get<std::array<double, 2>>();
    zone.ohms = z.at("circuit").at(0);
    zone.reactance = z.at("circuit").at(1);
    zone.learned = z.at("learned");
    zone.judged = z.at("judged");
    zone.held = z.at("held");
    trial.zones.push_back(zone);
  }
  return trial;
}

}  // namespace coilward
