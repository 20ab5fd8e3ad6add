// What one look at a run says, relative to what a healthy run would have shown: ratios, each with its
// uncertainty.
#pragma once

#include <algorithm>
#include <cmath>

#include "daemon/draw/draw_model.h"
#include "daemon/pipeline.h"

namespace coilward {

struct Observation {
  int index = -1;                                 // position in SiteElectrics::zones
  UtcTime start = kNever;                         // of its run: looks at one run replace each other
  UtcTime seen = kNever;                          // time of the look
  bool final = false;                             // the run is over, or has been seen for its first minute
  double hold_ratio = kNotMeasured, hold_sd = 0;  // holding level / forecast; relative standard deviation
  double inrush_ratio = kNotMeasured, inrush_sd = 0;
  double hold_lasting_sd = 0, inrush_lasting_sd = 0;      // what of these the zone's next run shares
  double hold_own = 0, inrush_own = 0;                    // LevelForecast::own
  double zero_sd = 0;                                     // of a reading of nothing, relative to the forecast
  double volts_ratio = kNotMeasured, volts_sd = 0;        // supply while on / usual
  double zone_volts_ratio = kNotMeasured;                 // zone terminal while on / usual
  double returned_ratio = kNotMeasured, returned_sd = 0;  // common's current / what left on the zone wires
  double returned_lasting_sd = 0, returned_own = 0;       // as for the levels; log of what is usual
  double back_ratio = kNotMeasured;        // came back / forecast, where nothing was seen to leave
  bool unseen_output = false;              // of the common: more may come back than was sent
  double own_share = 1;                    // of what left: the rest comes back whatever is wrong here
  double sent_amps = kNotMeasured;         // on the zone wires of the common, where it has a sensor
  double fall = kNotMeasured;              // WarmUp: of the current while the coil warms, relative
  double usual_fall = 0, fall_sd = 0;      // what a healthy run would show; of this run alone
  double fall_lasting_sd = 0;              // of the usual fall, relative
  double before_cut_ratio = kNotMeasured;  // highest level seen before a cut-out
  bool volts_known = false;                // the level allows for the volts
  bool over = false;  // the run has ended: its warm-up is known, where it was long enough
  bool cut_out = false;
  bool dips = false;         // flickered
  bool inferred = false;     // only the programme says that it should have run
  bool gap_seen = false;     // inferred, and the programme left it its time
  bool taught = false;       // the normal draw has learned from it
  double expected_amps = 0;  // the forecast, for evidence
  double observed_amps = kNotMeasured;
  double expected_inrush_amps = 0;
  double observed_inrush_amps = kNotMeasured;

  // No current to speak of: a tenth of normal, or what the sensor cannot tell from none.
  bool dead() const { return measured(hold_ratio) && hold_ratio < std::max(0.10, 3 * zero_sd); }
  // Volts further from the usual ones than these wander; own judgement.
  bool odd_volts() const {
    return measured(volts_ratio) && std::abs(std::log(std::max(volts_ratio, 0.01))) > 0.03 + 2 * volts_sd;
  }
  bool low_volts() const { return odd_volts() && volts_ratio < 1; }
};

// Slowly learned levels of the site's volts and of how the common's sensor compares with the zones'.
struct UsualLevels {
  double volts = kNotMeasured, volts_sd = 0;
  double zone_volts = kNotMeasured;
  // By output: two sensors' gains, and what else the common carries; and how surely, relative.
  std::vector<double> returned, returned_sd;
  std::vector<double> unseen_amps;  // by output: what comes back with it of an output without a sensor
  std::vector<int> unseen_runs;
};

// What else came back on the run's common.
struct SharedCommon {
  double other_amps = 0;       // what the outputs that shared the run draw normally
  double other_variance = 0;   // of that, square amps
  bool unseen_output = false;  // a master output without a sensor may have been on
};

Observation observe(const Run& run, bool final, UtcTime seen, const DrawSample& sample,
                    const DrawForecast& forecast, const UsualLevels& usual, const SharedCommon& shared);

}  // namespace coilward
