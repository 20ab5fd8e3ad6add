#include "daemon/simulate/switch_on.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "daemon/simulate/half_cycles.h"
#include "daemon/simulate/inverse.h"

namespace coilward::simulate {
namespace {

constexpr double kStep = 0.0002;        // s; 83 steps a cycle, and a plunger's travel takes over a hundred
constexpr double kRingSeconds = 0.004;  // the shading ring's flux lags and bridges the zero crossings
constexpr double kDrag = 0.15;          // of the spring's force at 1 m/s: friction and water

double source_ohms(const Branch& branch) {
  for (const PathPiece& piece : branch.path)
    if (piece.key == piece_key(PieceKind::source)) return piece.ohms;
  return 0;
}

// State: flux linkage of each branch. u = d(flux)/dt, i = flux/L + u/loss, u + Z i = e.
class Transient {
 public:
  explicit Transient(const SwitchOnPlan& plan)
      : plan_(plan),
        n_(plan.branches.size()),
        branches_(plan.branches.begin(), plan.branches.end()),
        series_(shared_ohms(plan.branches)),
        flux_(n_),
        speed_(n_),
        pull_(n_),
        seated_ms_(n_, std::numeric_limits<double>::quiet_NaN()) {
    for (std::size_t i = 0; i < n_; ++i) series_[i * n_ + i] += branches_[i].coil_ohms;
    for (Branch& branch : branches_)  // a plain resistance is all series
      if (branch.coil == nullptr) branch.loss_ohms = 1e9;
    invert_coupling();
    begin_steady();
  }

  SwitchOn follow();

 private:
  double omega() const { return 2 * std::numbers::pi * plan_.hertz; }
  double source(double t) const {
    return std::numbers::sqrt2 * plan_.volts * std::cos(omega() * t + plan_.phase);
  }

  // (1 + Z diag(1/loss)) does not change during the transient; a plain resistance has its current for
  // unknown.
  void invert_coupling() {
    std::vector<double> matrix(n_ * n_);
    for (std::size_t a = 0; a < n_; ++a)
      for (std::size_t b = 0; b < n_; ++b) {
        const bool coil = branches_[b].coil != nullptr;
        matrix[a * n_ + b] =
            (a == b && coil ? 1.0 : 0.0) + series_[a * n_ + b] / (coil ? branches_[b].loss_ohms : 1.0);
      }
    coupling_ = inverse(std::move(matrix), n_);
  }

  // Coils that were on before carry the flux of their steady state.
  void begin_steady() {
    std::vector<Branch> before;
    std::vector<std::size_t> where;
    for (std::size_t i = 0; i < n_; ++i)
      if (!branches_[i].fresh) before.push_back(branches_[i]), where.push_back(i);
    if (before.empty()) return;
    const auto amps = steady_currents(plan_.volts, plan_.hertz, before, shared_ohms(before));
    for (std::size_t k = 0; k < before.size(); ++k) {
      const Branch& it = before[k];
      if (it.coil == nullptr) continue;
      const std::complex<double> inductive(0, omega() * it.henries());
      const auto own = amps[k] * it.loss_ohms / (it.loss_ohms + inductive);
      flux_[where[k]] = std::numbers::sqrt2 * std::real(own * std::polar(1.0, plan_.phase)) * it.henries();
      pull_[where[k]] = std::norm(own);
    }
  }

  // Voltages across the inductances (for a plain resistance: its current), given the fluxes.
  void voltages(double t, const std::vector<double>& flux, std::vector<double>& u) const {
    std::vector<double>& free = free_;
    free.resize(n_);
    for (std::size_t a = 0; a < n_; ++a) {
      free[a] = source(t);
      for (std::size_t b = 0; b < n_; ++b)
        if (branches_[b].coil) free[a] -= series_[a * n_ + b] * flux[b] / henries_[b];
    }
    for (std::size_t a = 0; a < n_; ++a) {
      u[a] = 0;
      for (std::size_t b = 0; b < n_; ++b) u[a] += coupling_[a * n_ + b] * free[b];
    }
  }

  double amps(std::size_t i, const std::vector<double>& u) const {
    return branches_[i].coil ? flux_[i] / henries_[i] + u[i] / branches_[i].loss_ohms : u[i];
  }

  void measure(HalfCycles& meter);
  void step(double t);
  void move_plungers();

  const SwitchOnPlan& plan_;
  std::size_t n_;
  std::vector<Branch> branches_;
  std::vector<double> series_, coupling_;
  std::vector<double> flux_, speed_, pull_, henries_;
  std::vector<double> seated_ms_;
  std::vector<double> moment_, slope1_, slope2_, ahead_;
  mutable std::vector<double> free_;
  double now_ = 0;
};

// Heun's second-order step: the fluxes are smooth, and the step is short against every time constant.
void Transient::step(double t) {
  std::vector<double>&u1 = slope1_, &u2 = slope2_, &ahead = ahead_;
  u1.resize(n_), u2.resize(n_);
  ahead = flux_;
  voltages(t, flux_, u1);
  for (std::size_t i = 0; i < n_; ++i)
    if (branches_[i].coil) ahead[i] += kStep * u1[i];
  voltages(t + kStep, ahead, u2);
  for (std::size_t i = 0; i < n_; ++i)
    if (branches_[i].coil) flux_[i] += kStep * (u1[i] + u2[i]) / 2;
}

void Transient::move_plungers() {
  for (std::size_t i = 0; i < n_; ++i) {
    Branch& it = branches_[i];
    if (it.coil == nullptr) continue;
    const double now = flux_[i] / henries_[i];
    pull_[i] += (now * now - pull_[i]) * kStep / kRingSeconds;
    if (!it.fresh || it.gap_mm <= it.travel_mm) continue;
    const Solenoid& s = *it.coil;
    const double way = (s.open_mm - it.gap_mm) / (s.open_mm - s.seated_mm);
    const double spring = s.spring_newtons * (1 + s.spring_rise * way);
    const double turns = it.turns * it.turns;
    const double force = pull_newtons(s, it.gap_mm, pull_[i] * turns) - spring;
    speed_[i] += kStep * (force - kDrag * s.spring_newtons * speed_[i]) / s.mass_kg;
    if (speed_[i] < 0 && it.gap_mm >= s.open_mm) speed_[i] = 0;
    it.gap_mm = std::clamp(it.gap_mm - speed_[i] * kStep * 1000, it.travel_mm, s.open_mm);
    if (it.gap_mm <= it.travel_mm) seated_ms_[i] = now_ * 1000;
  }
}

// The waves of this moment: the probes', the whole current's and the terminals' voltage.
void Transient::measure(HalfCycles& meter) {
  std::vector<double>& u = moment_;
  u.resize(n_);
  voltages(now_, flux_, u);
  double total = 0;
  for (std::size_t i = 0; i < n_; ++i) total += amps(i, u);
  for (std::size_t p = 0; p < plan_.probes.size(); ++p) {
    double sum = 0;
    for (const int i : plan_.probes[p]) sum += amps(static_cast<std::size_t>(i), u);
    meter.add(p, sum);
  }
  meter.add(plan_.probes.size(), total);
  meter.add(plan_.probes.size() + 1, source(now_) - (n_ == 0 ? 0 : source_ohms(branches_[0])) * total);
}

SwitchOn Transient::follow() {
  SwitchOn result;
  result.half_cycle_s = 0.5 / plan_.hertz;
  HalfCycles meter(plan_.probes.size() + 2, result.half_cycle_s);
  henries_.resize(n_);
  const auto steps = static_cast<int>(plan_.seconds / kStep);
  for (int k = 0; k < steps; ++k) {
    now_ = k * kStep;
    for (std::size_t i = 0; i < n_; ++i) henries_[i] = branches_[i].coil ? branches_[i].henries() : 1;
    measure(meter);
    step(now_);
    move_plungers();
    meter.end_moment(now_ + kStep);
  }
  result.terminal_volts = std::move(meter.rms.back());
  meter.rms.pop_back();
  result.total_amps = std::move(meter.rms.back());
  meter.rms.pop_back();
  result.probe_amps = std::move(meter.rms);
  for (const Branch& branch : branches_) result.gap_mm.push_back(branch.gap_mm);
  result.seated_ms = std::move(seated_ms_);
  return result;
}

}  // namespace

SwitchOn follow_switch_on(const SwitchOnPlan& plan) { return Transient(plan).follow(); }

}  // namespace coilward::simulate
