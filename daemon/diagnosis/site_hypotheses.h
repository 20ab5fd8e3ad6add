// What can be wrong beyond a single output: a common, the supply, two zone wires touching. Each acts on
// several outputs at once, which is how it is told from faults of their own.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/config/config.h"
#include "daemon/diagnosis/prediction.h"
#include "daemon/diagnosis/zone_filter.h"
#include "daemon/draw/zone_electrics.h"

namespace coilward {

enum class SiteClass : std::uint8_t {
  supply_shift,  // the mains moved, within what is usual: not a finding
  brown_out,     // low for some minutes, then as before: not a finding
  supply_low,
  supply_lost,
  failed_common,
  common_high_resistance,
  crossed_wires,
};

struct SiteHypothesis {
  SiteClass site_class = SiteClass::supply_shift;
  int segment = -1;  // position in SiteElectrics::segments; -1: not a stretch of the configuration
  int common = -1;
  double size = 0;         // factor of the supply; ohms added
  std::vector<int> zones;  // outputs it acts on, positions
  double log_prior = 0;    // of the chance that it begins on a given day
  // It grew from nothing to its size between these times; kNever: all at once.
  UtcTime grows_from = kNever, grows_to = kNever;
  bool keeps = false;  // the ohms are the same for days
  // Crossed wires: what each of the two draws, over the sum of both normal draws.
  double first_share = 1, second_share = 1;
  double size_at(UtcTime time) const;
  // One cause, whatever its place and size: what a finding is about.
  bool same_cause(const SiteHypothesis& other) const;
  friend bool operator==(const SiteHypothesis&, const SiteHypothesis&) = default;
};

Fault fault_of(SiteClass site_class);

// A cause and when it began, and ended.
struct CauseStart {
  SiteHypothesis cause;
  UtcTime since = kNever;
  UtcTime until = UtcTime::max();
  int another_size_of = -1;  // position among the causes; -1: its size was solved for, or it has none
};

// What is known of the outputs when causes are looked for.
struct SiteSeen {
  const SiteElectrics& site;
  const Config& config;
  const std::vector<ZoneFilter>& filters;
  const std::vector<ZoneElectrics>& fitted;
  std::vector<int> suspects;     // outputs that are not as they should be, or that a standing cause acts on
  std::vector<int> dead;         // outputs without current: a failed common is offered for them without boxes
  std::vector<UtcTime> begun{};  // when standing causes began: their places and sizes are tried anew
};

// Every cause that could explain something seen of one of the suspects, of the sizes that would.
std::vector<CauseStart> possible_causes(const SiteSeen& seen);

// What it makes of a run of one output; nullopt: nothing.
std::optional<Prediction> effect_on(const SiteHypothesis& hypothesis,
                                    const std::vector<ZoneElectrics>& fitted, const Observation& seen);

}  // namespace coilward
