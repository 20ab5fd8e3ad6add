// Which loads are connected, over which pieces of wire: the tree of the configuration with its faults.
#include <algorithm>
#include <cmath>

#include "daemon/simulate/electric_site.h"

namespace coilward::simulate {
namespace {

constexpr int kOwnRun = 4000;      // stands for the wire from the last box to the valves
constexpr int kFaultPiece = 4001;  // added ohms in a zone's wire

double copper_of(const Config& config, int common, double celsius) {
  const ConductorConfig& wire = config.commons[static_cast<std::size_t>(common)].wire;
  return ohms_per_metre(wire.square_mm > 0 ? wire.square_mm : 2.08, wire.stranded, celsius);
}

}  // namespace

void ElectricSite::build(double time) {
  warm_coils(time);
  soil_ = around_.soil_celsius(time);
  branches_.clear();
  owner_.clear();
  for (const auto& [number, state] : on_)
    if (const TrueZone* zone = find_zone(site_, number)) add_output(*zone, time);
  shared_ = shared_ohms(branches_);
  built_ = time;
  solved_ = -1e9;
  settled_ = true;
  amps_.clear();
  solve(time);
}

std::vector<PathPiece> ElectricSite::supply_path(const TrueZone& zone) const {
  return {{piece_key(PieceKind::source), site_.source_ohms},
          {piece_key(PieceKind::output, zone.number), zone.output_ohms}};
}

// The zone's wire from box to box, from the valves back to the controller or to `stop_box` (left out).
void ElectricSite::add_zone_wire(std::vector<PathPiece>& path, const TrueZone& zone, int stop_box,
                                 double celsius) const {
  const double per_metre = ohms_per_metre(zone.square_mm, zone.stranded, celsius);
  path.push_back({piece_key(PieceKind::zone_wire, zone.number, kOwnRun), per_metre * zone.own_metres});
  for (int box = zone.box; box >= 0 && box != stop_box;
       box = config_.boxes[static_cast<std::size_t>(box)].parent)
    path.push_back({piece_key(PieceKind::zone_wire, zone.number, box),
                    per_metre * site_.box_metres[static_cast<std::size_t>(box)]});
}

void ElectricSite::add_common(std::vector<PathPiece>& path, const TrueZone& zone, double celsius,
                              double time) const {
  const double per_metre = copper_of(config_, zone.common, celsius);
  if (zone.box < 0)
    path.push_back(
        {piece_key(PieceKind::common_wire, zone.common, kOwnRun - zone.number), per_metre * zone.own_metres});
  for (int box = zone.box; box >= 0; box = config_.boxes[static_cast<std::size_t>(box)].parent)
    path.push_back({piece_key(PieceKind::common_wire, zone.common, box),
                    per_metre * site_.box_metres[static_cast<std::size_t>(box)] +
                        site_.splice_ohms[static_cast<std::size_t>(box)]});
  for (std::size_t i = 0; i < faults_.size(); ++i) {
    const FaultPlan& fault = faults_[i];
    if (active_[i] && fault.fault == Fault::common_high_resistance && fault.common == zone.common &&
        box_is_beyond(config_, zone.box, fault.box))
      path.push_back(
          {piece_key(PieceKind::common_wire, zone.common, kFaultPiece - 1000 + static_cast<int>(i)),
           grown_ohms(fault, time)});
  }
}

// False: the common's return is broken for it.
bool ElectricSite::returns(const TrueZone& zone, double) const {
  for (std::size_t i = 0; i < faults_.size(); ++i)
    if (active_[i] && faults_[i].fault == Fault::failed_common && faults_[i].common == zone.common &&
        box_is_beyond(config_, zone.box, faults_[i].box))
      return false;
  return true;
}

double ElectricSite::series_fault_ohms(const TrueZone& zone, double time) const {
  double ohms = 0;
  for (std::size_t i = 0; i < faults_.size(); ++i) {
    const FaultPlan& fault = faults_[i];
    if (!active_[i] || fault.zone != zone.number) continue;
    if (fault.fault == Fault::high_resistance) ohms += grown_ohms(fault, time);
    const auto on = on_.find(zone.number);
    if (fault.fault == Fault::stuck_on && fault.amount < 1 && on != on_.end() && !on->second.commanded)
      ohms += 80 * (1 / fault.amount - 1);  // a leaking switch; 80 ohms stands for a coil
  }
  return ohms;
}

// The last box that both wires reach; -1: the controller.
int ElectricSite::touching_box(const TrueZone& a, const TrueZone& b) const {
  for (int box = a.box; box >= 0; box = config_.boxes[static_cast<std::size_t>(box)].parent)
    if (box_is_beyond(config_, b.box, box)) return box;
  return -1;
}

void ElectricSite::add_output(const TrueZone& zone, double time) {
  std::vector<PathPiece> path = supply_path(zone);
  add_zone_wire(path, zone, -1, soil_);
  add_valves(zone, zone, std::move(path), time);
  add_leaks(zone, time);
  for (std::size_t i = 0; i < faults_.size(); ++i) {
    const FaultPlan& fault = faults_[i];
    if (!active_[i] || fault.fault != Fault::crossed_wires) continue;
    if (fault.zone != zone.number && fault.other != zone.number) continue;
    const int other = fault.zone == zone.number ? fault.other : fault.zone;
    const TrueZone* second = find_zone(site_, other);
    if (second == nullptr || on_.contains(other)) continue;
    std::vector<PathPiece> over = supply_path(zone);
    const int touch = touching_box(zone, *second);
    const double per_metre = ohms_per_metre(zone.square_mm, zone.stranded, soil_);
    for (int box = touch; box >= 0; box = config_.boxes[static_cast<std::size_t>(box)].parent)
      over.push_back({piece_key(PieceKind::zone_wire, zone.number, box),
                      per_metre * site_.box_metres[static_cast<std::size_t>(box)]});
    add_zone_wire(over, *second, touch, soil_);
    add_valves(zone, *second, std::move(over), time);
  }
}

void ElectricSite::add_valves(const TrueZone& feeding, const TrueZone& zone, std::vector<PathPiece> path,
                              double time) {
  if (!returns(zone, time)) return;
  const double added = series_fault_ohms(zone, time);
  if (added > 0) path.push_back({piece_key(PieceKind::own, zone.number, kFaultPiece), added});
  add_common(path, zone, soil_, time);
  int lost = 0;
  for (std::size_t i = 0; i < faults_.size(); ++i) {
    if (!active_[i] || faults_[i].zone != zone.number) continue;
    if (faults_[i].fault == Fault::open_circuit) return;
    if (faults_[i].fault == Fault::partial_open) lost = std::max(lost, faults_[i].valves);
  }
  for (std::size_t v = static_cast<std::size_t>(lost); v < zone.valves.size(); ++v) {
    Branch branch;
    branch.output = feeding.number;
    branch.common = zone.common;
    branch.path = path;
    set_valve(branch, zone, v, time);
    branches_.push_back(std::move(branch));
    owner_.push_back(zone.number);
  }
}

void ElectricSite::set_valve(Branch& branch, const TrueZone& zone, std::size_t index, double time) {
  const Solenoid& coil = zone.valves[index];
  Valve& valve = valves_[zone.number][index];
  if (time > valve.time) valve.kelvin *= std::exp((valve.time - time) / coil.warm_up_s), valve.time = time;
  branch.valve = static_cast<int>(index);
  branch.coil = &coil;
  branch.loss_ohms = coil.loss_ohms;
  branch.gap_mm = valve.gap_mm;
  branch.travel_mm = coil.seated_mm;
  for (std::size_t i = 0; i < faults_.size(); ++i) {
    const FaultPlan& fault = faults_[i];
    if (!active_[i] || fault.zone != zone.number || static_cast<int>(index) >= fault.valves) continue;
    if (fault.fault == Fault::plunger_not_seated)
      branch.travel_mm = coil.seated_mm + fault.amount * (coil.open_mm - coil.seated_mm);
    if (fault.fault != Fault::shorted_coil) continue;
    branch.turns = fault.turns;
    if (fault.turns <= 0) branch.coil = nullptr, branch.coil_ohms = fault.ohms;
    // The shorted turns are a ring about the core, coupled as well as the rest: a loss of their own copper.
    if (fault.turns > 0)
      branch.loss_ohms = 1 / (1 / coil.loss_ohms + fault.amount * (1 - fault.turns) / coil.ohms_20);
  }
  branch.gap_mm = std::max(branch.gap_mm, branch.travel_mm);
  if (branch.coil != nullptr)
    branch.coil_ohms = branch.turns * coil.ohms_20 * (1 + kCopperPerKelvin * (soil_ + valve.kelvin - 20));
}

void ElectricSite::add_leaks(const TrueZone& zone, double) {
  for (std::size_t i = 0; i < faults_.size(); ++i) {
    const FaultPlan& fault = faults_[i];
    if (!active_[i] || fault.fault != Fault::earth_leakage || fault.zone != zone.number) continue;
    Branch branch;
    branch.output = zone.number;
    branch.common = -1;
    branch.coil_ohms = fault.ohms;
    branch.path = supply_path(zone);
    add_zone_wire(branch.path, zone, -1, soil_);
    branches_.push_back(std::move(branch));
    owner_.push_back(zone.number);
  }
}

}  // namespace coilward::simulate
