#include "daemon/circuit/supply.h"

namespace coilward::circuit {

double source_ohms_from_rating(double rated_volts, double volt_amps, double share) {
  return share * rated_volts * rated_volts / volt_amps;
}

double open_circuit_volts(double rated_volts, double volt_amps, double source_ohms) {
  return rated_volts + source_ohms * volt_amps / rated_volts;
}

double regulation(double no_load_volts, double full_load_volts) {
  return (no_load_volts - full_load_volts) / full_load_volts;
}

}  // namespace coilward::circuit
