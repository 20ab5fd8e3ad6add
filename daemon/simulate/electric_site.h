// The electrical state of a simulated site while time goes on: what is energised, where each plunger is, how
// warm each coil, and what currents and voltages that gives.
#pragma once

#include <complex>
#include <map>
#include <vector>

#include "daemon/config/config.h"
#include "daemon/simulate/branch.h"
#include "daemon/simulate/fault_plan.h"
#include "daemon/simulate/site_plan.h"
#include "daemon/simulate/surroundings.h"
#include "daemon/simulate/switch_on.h"

namespace coilward::simulate {

// Thread: one. Times are seconds since the start and do not fall. What is referred to outlives it.
class ElectricSite {
 public:
  static constexpr double kTransient = 0.4;  // seconds after a switch-on that are followed step by step

  ElectricSite(const Config& config, const TrueSite& site, const std::vector<FaultPlan>& faults,
               Surroundings& around, std::uint64_t seed);

  // commanded: by the controller; false when an output is stuck on by itself.
  void energise(int output, bool commanded, double time);
  void release(int output, double time);
  bool energised(int output) const { return on_.contains(output); }
  bool any_energised() const { return !on_.empty(); }
  void rest(int zone);  // its plungers stand open and its coils are cold: after work on it
  void blow_fuse() { fuse_blown_ = true, settled_ = false; }
  void mend_fuse() { fuse_blown_ = false, settled_ = false; }

  double output_amps(int output, double time);
  double output_volts(int output,
                      double time);  // terminal to common; what leaks through an open switch is left out
  double common_amps(int common, double time);
  double supply_volts(double time);

  // The half cycles of the latest switch-on and, of each, what one output drew.
  double half_cycle_s() const { return transient_.half_cycle_s; }
  std::vector<double> burst(int output) const;
  double seat_ms(int output) const;  // of its first valve in the latest switch-on; NaN: did not seat

 private:
  struct Valve {
    double gap_mm = 0;
    double kelvin = 0;  // of its copper over the surroundings
    double time = 0;    // of that
  };
  struct On {
    bool commanded = true;
    double since = 0;
  };

  void refresh(double time);
  bool faults_changed(double time);
  void build(double time);
  void add_output(const TrueZone& zone, double time);
  void add_valves(const TrueZone& feeding, const TrueZone& zone, std::vector<PathPiece> path, double time);
  void add_leaks(const TrueZone& zone, double time);
  void set_valve(Branch& branch, const TrueZone& zone, std::size_t index, double time);
  bool returns(const TrueZone& zone, double time) const;
  std::vector<PathPiece> supply_path(const TrueZone& zone) const;
  void add_zone_wire(std::vector<PathPiece>& path, const TrueZone& zone, int stop_box, double celsius) const;
  void add_common(std::vector<PathPiece>& path, const TrueZone& zone, double celsius, double time) const;
  double series_fault_ohms(const TrueZone& zone, double time) const;
  int touching_box(const TrueZone& a, const TrueZone& b) const;

  void solve(double time);
  void warm_coils(double time);
  bool move_plungers();
  double source_volts(double time);
  void follow(int output, double time);
  bool in_transient(double time) const { return time < transient_begin_ + kTransient; }
  double windowed(const std::vector<double>& half_cycles, double time) const;
  std::complex<double> sum_amps(int output, int common) const;

  const Config& config_;
  const TrueSite& site_;
  const std::vector<FaultPlan>& faults_;
  Surroundings& around_;
  Chance chance_;
  std::map<int, On> on_;
  std::map<int, std::vector<Valve>> valves_;
  std::vector<bool> active_;  // faults, at the latest build
  bool fuse_blown_ = false;
  bool settled_ = false;  // branches_ are those of now
  double built_ = -1e9, solved_ = -1e9;
  double soil_ = 15;
  double volts_ = 0;
  std::vector<Branch> branches_;
  std::vector<int> owner_;  // of each branch: the zone whose valve it is
  std::vector<double> shared_;
  std::vector<std::complex<double>> amps_;
  double transient_begin_ = -1e9;
  int fresh_output_ = -1;
  SwitchOn transient_;
  std::vector<std::pair<int, int>> probe_of_;  // (output or -1, common) of each probe
};

}  // namespace coilward::simulate
