#include "daemon/diagnosis/observation.h"

#include <algorithm>
#include <cmath>

namespace coilward {
namespace {

// A sensor of 1 mA steps with a little noise reads nothing as a few mA (common practice).
constexpr double kZeroAmps = 0.004;
// Two sensors of up to 3 % each may differ by this, in every run alike, and each run by so much besides.
constexpr double kReturnedSd = 0.045, kReturnedRunSd = 0.01;
constexpr int kReturnedRuns = 3;
// Less than this leaving is none.
constexpr double kSentAmps = 0.05;
// Wander of the mains, and what the output's own load takes off; own judgement.
constexpr double kZoneVoltsSd = 0.04;
// A level above this, own judgement, may be that of a plunger that is out.
constexpr double kPlungerMayBeOut = 1.2;
// A coil that falls by less has hardly been seen to warm: by how much a fault would change that is no
// evidence. Own judgement; one to five per cent are usual.
constexpr double kLeastWholeFall = 0.008;
// Flicker shows in the level of many readings; one dip may be a lost sample.
constexpr std::uint32_t kDips = 2;

void set_returned(Observation& o, const Run& run, const DrawSample& sample, const UsualLevels& usual,
                  const SharedCommon& shared) {
  const double sent = run.hold_amps + shared.other_amps;
  if (!measured(run.common_amps)) return;
  // Of a run that no command began, and that carries nothing, it may be another output's.
  const bool alone = (run.commanded || run.inferred) && !run.sharing_unsure && !shared.unseen_output;
  if (!(sent > kSentAmps) && alone) o.back_ratio = std::max(0.0, run.common_amps) / o.expected_amps;
  if (!(sent > kSentAmps)) return;
  o.sent_amps = sent;
  o.own_share = std::clamp(run.hold_amps / sent, 0.0, 1.0);
  const auto i = static_cast<std::size_t>(sample.index);
  o.unseen_output = shared.unseen_output;
  if (shared.unseen_output && usual.unseen_runs[i] < kReturnedRuns)
    return;  // what comes back is not all ours
  const double usually = shared.unseen_output ? 1.0 : usual.returned[i];
  const double ours = run.common_amps - (shared.unseen_output ? usual.unseen_amps[i] : 0);
  o.returned_ratio = std::max(0.0, ours) / sent / usually;
  o.returned_own = std::log(usually);
  o.returned_lasting_sd = shared.unseen_output ? kReturnedSd : usual.returned_sd[i];
  const double others = std::hypot(0.03 * shared.other_amps, std::sqrt(shared.other_variance)) / sent;
  // What an output without a sensor draws is less, too, where the supply is low or the common bad.
  const double less = std::max(0.0, 1 - sample.hold_amps / o.expected_amps);
  const double unseen = shared.unseen_output ? usual.unseen_amps[i] * less / sent : 0;
  o.returned_sd = std::hypot(std::hypot(o.returned_lasting_sd, kReturnedRunSd, sample.hold_noise), others,
                             std::hypot(unseen, kZeroAmps / sent));
}

// A burst that shows no more than the holding level was taken after the plunger had seated. With a plunger
// that is out the level itself is that high.
bool came_late(const DrawSample& sample, double hold_ratio) {
  return hold_ratio < kPlungerMayBeOut && sample.inrush_amps < kLeastInrush * sample.hold_amps;
}

}  // namespace

Observation observe(const Run& run, bool final, UtcTime seen, const DrawSample& sample,
                    const DrawForecast& forecast, const UsualLevels& usual, const SharedCommon& shared) {
  Observation o;
  o.index = sample.index;
  o.start = run.start;
  o.seen = seen;
  o.final = final;
  o.over = run.ended != RunEnd::running;
  o.expected_amps = forecast.hold.amps;
  o.expected_inrush_amps = forecast.inrush.amps;
  o.hold_lasting_sd = forecast.hold.lasting_sd;
  o.inrush_lasting_sd = forecast.inrush.lasting_sd;
  o.hold_own = forecast.hold.own;
  o.inrush_own = forecast.inrush.own;
  o.zero_sd = kZeroAmps / forecast.hold.amps;
  o.inferred = run.inferred;
  o.gap_seen = run.inferred && run.ended != RunEnd::silent;
  o.volts_known = sample.volts_known;
  o.observed_amps = sample.hold_amps;
  o.observed_inrush_amps = sample.inrush_amps;
  if (measured(sample.hold_amps)) {
    o.hold_ratio = std::max(0.0, sample.hold_amps / forecast.hold.amps);
    o.hold_sd = forecast.hold.sd;
  }
  if (measured(sample.inrush_amps) && !came_late(sample, o.hold_ratio)) {
    o.inrush_ratio = std::max(0.0, sample.inrush_amps / forecast.inrush.amps);
    o.inrush_sd = forecast.inrush.sd;
  }
  if (forecast.warm_up.whole > kLeastWholeFall) o.fall = sample.warm_up.fall;
  o.usual_fall = forecast.warm_up.fall;
  o.fall_sd = forecast.warm_up.sd;
  o.fall_lasting_sd = forecast.warm_up.lasting_sd;
  if (measured(run.supply_volts) && measured(usual.volts)) {
    o.volts_ratio = run.supply_volts / usual.volts;
    o.volts_sd = usual.volts_sd;
  }
  if (measured(run.zone_volts) && measured(usual.zone_volts)) {
    const double ratio = run.zone_volts / usual.zone_volts;
    // Where nobody measures the supply, the output's own terminals speak for it.
    if (measured(o.volts_ratio)) {
      o.zone_volts_ratio = ratio;
    } else {
      o.volts_ratio = ratio;
      o.volts_sd = kZoneVoltsSd;
    }
  }
  set_returned(o, run, sample, usual, shared);
  o.cut_out = run.ended == RunEnd::cut_out;
  const double highest = std::max(measured(run.highest_amps) ? run.highest_amps : 0,
                                  measured(run.inrush_amps) ? run.inrush_amps : 0);
  if (o.cut_out) o.before_cut_ratio = highest / forecast.hold.amps;
  o.dips = run.dips >= kDips;
  return o;
}

}  // namespace coilward
