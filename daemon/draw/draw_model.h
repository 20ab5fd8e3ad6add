// run -> normal draw: what each output takes when nothing is wrong, today.
//
// What moves every healthy zone together (supply, season) is estimated together from all of them, so that
// what remains is the zone's own: with a volts channel the work is done in admittance; with a temperature
// channel copper's coefficient is used; without either the neighbours tell. One joint filter holds, in
// logarithms of amps per volt:
//   temperature of copper (K from 20 Cel), supply (mains.h), and per output its holding and its inrush level.
// A level hardly moves by itself, and what a run is held against is the level of kAnchorRuns runs ago with
// today's supply and temperature: so that a slow fault does not become normal.
//
// Thread: one at a time.
#pragma once

#include <deque>

#include "daemon/draw/joint_filter.h"
#include "daemon/draw/mains.h"
#include "daemon/draw/warm_up.h"
#include "daemon/draw/zone_electrics.h"
#include "daemon/pipeline.h"

namespace coilward {

// A run in the model's terms.
struct DrawSample {
  int index = -1;  // position in SiteElectrics::zones
  UtcTime time = kNever;
  double amps_scale =
      1;  // amps = amps_scale * exp(log level): volts at the output, other outputs accounted for
  bool volts_known = false;         // amps_scale holds measured volts
  double hold_amps = kNotMeasured;  // sensor's zero taken off
  double hold_noise = 0;            // relative standard deviation of the level itself
  double inrush_amps = kNotMeasured;
  double inrush_noise = 0;
  double soil_celsius = kNotMeasured;
  double spread = kNotMeasured;  // of single readings, relative
  WarmUp warm_up;
};

// A plunger on its way takes a third more than a seated one at least (common practice); below this, own
// judgement, none was seen on its way.
inline constexpr double kLeastInrush = 1.08;

// What a healthy run would show. Amps at the sample's own volts; standard deviations are relative.
struct LevelForecast {
  double amps = 0;
  double sd = 0;          // of a run's level: what lasts, and the run's own noise
  double lasting_sd = 0;  // what lasts: the next run will be off by it too
  double own = 0;         // the output's own part, log amps per volt: by how much what was learned has moved
};

struct DrawForecast {
  LevelForecast hold, inrush;
  WarmUpForecast warm_up;
};

class DrawModel {
 public:
  DrawModel(const SiteElectrics& site);

  // loads: of each of run.shared_with, what it draws over what it normally does; empty: all as usual.
  DrawSample sample(const Run& run, const std::vector<double>& loads = {}) const;
  DrawForecast forecast(const DrawSample& sample) const;
  // The output runs since then: its supply of then is kept apart.
  void began(int index, UtcTime start);

  // Of a run's holding level: it says more of the supply, which nobody measured, than of its output.
  bool supply_unsure(const DrawSample& sample) const;
  // By how many deviations a run's holding level is off what was expected; and by how many two runs differ in
  // that, as far as the supply is the same for both.
  double off(const DrawSample& sample) const;
  double apart(const DrawSample& a, const DrawSample& b) const;

  // Takes in a run that was judged healthy; weight (0..1) is how surely.
  void learn(const DrawSample& sample, double weight);
  // Takes of a run only what the supply is today: its output may not be as it always is.
  void follow_today(const DrawSample& sample);
  // Lets time pass: supply and season wander.
  void pass(UtcTime now);
  // Coil or wire was changed: the output is learned anew, about what is seen if anything is.
  void forget(int index);
  // The supply has moved for good by this much (relative): follow it.
  void follow_supply(double relative_sd);

  NormalDraw normal(int index, double supply_volts) const;
  std::uint32_t runs(int index) const { return hold_[static_cast<std::size_t>(index)].runs; }
  bool provisional(int index) const { return runs(index) < kProvisionalRuns; }
  bool inrush_known(int index) const { return level(index, true).runs >= 2; }
  // The zone's circuit with its coils fitted to what was learned.
  ZoneElectrics electrics(int index) const;
  const SiteElectrics& site() const { return site_; }

  Json save() const;
  bool restore(const Json& saved);

  // A level is relied on after this many runs: about a week of a usual programme.
  static constexpr std::uint32_t kProvisionalRuns = 4;
  // The anchor lies so many runs back, but never before the level was known from kAnchoredAfter of them.
  static constexpr std::size_t kAnchorRuns = 40;
  static constexpr std::uint32_t kAnchoredAfter = 6;

 private:
  struct Level {
    std::size_t state = 0;
    std::uint32_t runs = 0;
    double wavers = 1;          // learned: its squared surprise against the site's scale
    double off = kNotMeasured;  // by which the latest run surprised, of the logarithm
    std::deque<Forecast> past;  // after each of the latest runs
  };
  std::vector<Loading> loadings(int index, bool inrush) const;
  // With the supply, where it is not measured: as it is now, or as it was when the sample's run began.
  std::vector<Loading> now(const DrawSample& sample, bool inrush) const;
  std::vector<Loading> lasting(const DrawSample& sample, bool inrush) const;
  std::vector<Loading> then(const DrawSample& sample, bool inrush) const;
  const Level& level(int index, bool inrush) const {
    return (inrush ? inrush_ : hold_)[static_cast<std::size_t>(index)];
  }
  double residual(const DrawSample& sample) const;
  Forecast anchored(const DrawSample& sample, bool inrush) const;
  double scaled_noise(const DrawSample& sample, bool inrush) const;
  LevelForecast level_forecast(const DrawSample& sample, bool inrush) const;
  void observe(const DrawSample& sample, bool inrush, double weight);
  static void waver(Level& own, double off, double variance);
  double shared_ratio(const Run& run, const std::vector<double>& loads, bool volts_known) const;

  const SiteElectrics& site_;
  JointFilter filter_;
  std::size_t temperature_;
  Mains mains_;
  std::vector<Level> hold_, inrush_;  // by output
  WarmUpModel warm_up_;
  std::vector<double> run_noise_;  // per output: usual spread of single readings, relative
  UtcTime passed_ = kNever;
  // Learned, of holding and of inrush levels: squared surprise against what the filter promised.
  double hold_scale_ = 1, inrush_scale_ = 6;
};

}  // namespace coilward
