#include "daemon/diagnosis/phase.h"

namespace coilward {

EffectAt effect_of(const std::vector<Phase>& phases, const std::vector<ZoneElectrics>& fitted) {
  return [&phases, &fitted](const Observation& seen) {
    std::optional<Prediction> total;
    for (const auto& phase : phases) {
      if (seen.start < phase.since || seen.start >= phase.until) continue;
      const auto one = effect_on(phase.cause, fitted, seen);
      if (one) total = total ? both(*total, *one) : *one;
    }
    return total;
  };
}

}  // namespace coilward
