// For tests: one output with a usual coil (24 V, 0.24 A held, 0.40 A at switch-on), some wire and its common.
#pragma once

#include <cmath>

#include "daemon/circuit/coil.h"
#include "daemon/draw/zone_electrics.h"

namespace coilward {

inline ZoneElectrics fake_coil() {
  ZoneElectrics zone;
  zone.wire_ohms = 0.9;
  zone.common_ohms = 0.4;
  const auto rated = circuit::coil_from_rating({24, 0.24, 0.40, NAN});
  zone.coil_ohms = rated.ohms20;
  zone.seated_ohms = rated.reactance_seated;
  zone.open_ohms = rated.reactance_open;
  zone.inrush_sd = 0.1;
  return zone;
}

}  // namespace coilward
