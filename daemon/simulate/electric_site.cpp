#include "daemon/simulate/electric_site.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace coilward::simulate {
namespace {

constexpr double kSolveEvery = 0.25;   // s: warmth and mains move slowly
constexpr double kBuildEvery = 60;     // s: soil and growing faults move more slowly still
constexpr double kSensorWindow = 0.2;  // s over which a sensor's ordinary reading is a mean square

}  // namespace

ElectricSite::ElectricSite(const Config& config, const TrueSite& site, const std::vector<FaultPlan>& faults,
                           Surroundings& around, std::uint64_t seed)
    : config_(config), site_(site), faults_(faults), around_(around), chance_(seed, "electric") {
  for (const TrueZone& zone : site.zones) rest(zone.number);
  if (site.has_master) rest(kMasterZone);
  active_.assign(faults.size(), false);
}

void ElectricSite::rest(int zone) {
  std::vector<Valve>& valves = valves_[zone];
  valves.clear();
  for (const Solenoid& coil : find_zone(site_, zone)->valves) valves.push_back({coil.open_mm, 0, 0});
}

void ElectricSite::energise(int output, bool commanded, double time) {
  refresh(time);
  on_[output] = {commanded, time};
  transient_begin_ = time;  // plungers move by their own law now, not by the steady state's
  build(time);
  follow(output, time);
}

void ElectricSite::release(int output, double time) {
  refresh(time);
  on_.erase(output);
  build(time);
  for (auto& [zone, valves] : valves_) {
    for (std::size_t i = 0; i < valves.size(); ++i) {
      bool fed = false;
      for (std::size_t b = 0; b < branches_.size(); ++b)
        fed = fed || (owner_[b] == zone && branches_[b].valve == static_cast<int>(i));
      if (!fed) valves[i].gap_mm = find_zone(site_, zone)->valves[i].open_mm;
    }
  }
  if (fresh_output_ == output) transient_begin_ = -1e9;
}

bool ElectricSite::faults_changed(double time) {
  bool changed = false;
  for (std::size_t i = 0; i < faults_.size(); ++i) {
    const bool active = is_active(faults_[i], time);
    changed = changed || active != active_[i];
    active_[i] = active;
  }
  return changed;
}

void ElectricSite::refresh(double time) {
  if (faults_changed(time) || !settled_ || time - built_ > kBuildEvery) build(time);
  if (time - solved_ >= kSolveEvery) solve(time);
}

double ElectricSite::source_volts(double time) {
  if (fuse_blown_) return 0;
  double volts = site_.open_volts;
  for (std::size_t i = 0; i < faults_.size(); ++i) {
    if (!active_[i]) continue;
    if (faults_[i].fault == Fault::supply_lost) return 0;
    if (faults_[i].fault == Fault::supply_low) volts = faults_[i].volts;
  }
  return volts * around_.volts_factor(time);
}

void ElectricSite::solve(double time) {
  warm_coils(time);
  volts_ = source_volts(time);
  amps_ = steady_currents(volts_, config_.supply.hertz, branches_, shared_);
  if (!in_transient(time) && move_plungers())
    amps_ = steady_currents(volts_, config_.supply.hertz, branches_, shared_);
  solved_ = time;
}

// Copper warms with what it has been carrying since the latest solution, and cools when off.
void ElectricSite::warm_coils(double time) {
  for (std::size_t b = 0; b < branches_.size(); ++b) {
    Branch& branch = branches_[b];
    if (branch.coil == nullptr) continue;
    Valve& valve = valves_[owner_[b]][static_cast<std::size_t>(branch.valve)];
    const double watts = b < amps_.size() ? std::norm(amps_[b]) * branch.coil_ohms : 0;
    const double kept = std::exp((valve.time - time) / branch.coil->warm_up_s);
    valve.kelvin = valve.kelvin * kept + watts * branch.coil->kelvin_per_watt * (1 - kept);
    valve.time = time;
    branch.coil_ohms =
        branch.turns * branch.coil->ohms_20 * (1 + kCopperPerKelvin * (soil_ + valve.kelvin - 20));
  }
}

// A plunger that stands open is pulled in when the current suffices, and one that is in falls out when it
// does not.
bool ElectricSite::move_plungers() {
  bool moved = false;
  for (std::size_t b = 0; b < branches_.size(); ++b) {
    Branch& it = branches_[b];
    if (it.coil == nullptr) continue;
    const Solenoid& s = *it.coil;
    const double pull = pull_newtons(s, it.gap_mm, std::norm(amps_[b]) * it.turns * it.turns);
    const double way = (s.open_mm - it.gap_mm) / (s.open_mm - s.seated_mm);
    const double spring = s.spring_newtons * (1 + s.spring_rise * way);
    const double goes_to = pull > spring ? it.travel_mm : pull < 0.8 * spring ? s.open_mm : it.gap_mm;
    moved = moved || goes_to != it.gap_mm;
    valves_[owner_[b]][static_cast<std::size_t>(it.valve)].gap_mm = it.gap_mm = goes_to;
  }
  return moved;
}

void ElectricSite::follow(int output, double time) {
  for (Branch& branch : branches_) branch.fresh = branch.output == output;
  std::vector<Probe> probes;
  probe_of_.clear();
  const auto probe = [&](int of_output, int of_common) {
    Probe members;
    for (std::size_t b = 0; b < branches_.size(); ++b)
      if (of_output >= 0 ? branches_[b].output == of_output : branches_[b].common == of_common)
        members.push_back(static_cast<int>(b));
    probes.push_back(std::move(members));
    probe_of_.emplace_back(of_output, of_common);
  };
  for (const auto& [number, state] : on_) probe(number, -1);
  for (std::size_t c = 0; c < config_.commons.size(); ++c) probe(-1, static_cast<int>(c));
  SwitchOnPlan plan;
  plan.volts = volts_ = source_volts(time);
  plan.hertz = config_.supply.hertz;
  plan.phase = chance_.between(0, 2 * std::numbers::pi);
  plan.seconds = kTransient;
  plan.branches = branches_;
  plan.probes = probes;
  transient_ = follow_switch_on(plan);
  transient_begin_ = time;
  fresh_output_ = output;
  for (std::size_t b = 0; b < branches_.size(); ++b) {
    Branch& branch = branches_[b];
    if (branch.coil == nullptr) continue;
    branch.gap_mm = transient_.gap_mm[b];
    valves_[owner_[b]][static_cast<std::size_t>(branch.valve)].gap_mm = branch.gap_mm;
  }
  solve(time);
}

double ElectricSite::windowed(const std::vector<double>& half_cycles, double time) const {
  const double since = time - transient_begin_;
  const auto end = std::min(half_cycles.size(), static_cast<std::size_t>(since / transient_.half_cycle_s));
  const auto window = static_cast<std::size_t>(kSensorWindow / transient_.half_cycle_s);
  double sum = 0;
  for (std::size_t i = end > window ? end - window : 0; i < end; ++i) sum += half_cycles[i] * half_cycles[i];
  return std::sqrt(sum / static_cast<double>(window));
}

std::complex<double> ElectricSite::sum_amps(int output, int common) const {
  std::complex<double> sum = 0;
  for (std::size_t b = 0; b < branches_.size(); ++b)
    if ((output < 0 || branches_[b].output == output) && (common < 0 || branches_[b].common == common))
      sum += amps_[b];
  return sum;
}

double ElectricSite::output_amps(int output, double time) {
  if (!energised(output)) return 0;
  refresh(time);
  if (in_transient(time))
    for (std::size_t p = 0; p < probe_of_.size(); ++p)
      if (probe_of_[p].first == output) return windowed(transient_.probe_amps[p], time);
  return std::abs(sum_amps(output, -1));
}

double ElectricSite::common_amps(int common, double time) {
  if (on_.empty()) return 0;
  refresh(time);
  if (in_transient(time))
    for (std::size_t p = 0; p < probe_of_.size(); ++p)
      if (probe_of_[p].first < 0 && probe_of_[p].second == common)
        return windowed(transient_.probe_amps[p], time);
  return std::abs(sum_amps(-1, common));
}

double ElectricSite::supply_volts(double time) {
  refresh(time);
  return std::abs(volts_ - site_.source_ohms * sum_amps(-1, -1));
}

double ElectricSite::output_volts(int output, double time) {
  if (!energised(output)) return 0;
  refresh(time);
  const TrueZone* zone = find_zone(site_, output);
  return std::abs(volts_ - site_.source_ohms * sum_amps(-1, -1) - zone->output_ohms * sum_amps(output, -1));
}

std::vector<double> ElectricSite::burst(int output) const {
  for (std::size_t p = 0; p < probe_of_.size(); ++p)
    if (probe_of_[p].first == output) return transient_.probe_amps[p];
  return {};
}

double ElectricSite::seat_ms(int output) const {
  for (std::size_t b = 0; b < branches_.size() && b < transient_.seated_ms.size(); ++b)
    if (branches_[b].output == output && branches_[b].coil != nullptr) return transient_.seated_ms[b];
  return std::numeric_limits<double>::quiet_NaN();
}

}  // namespace coilward::simulate
