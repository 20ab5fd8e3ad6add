// The transformer as a source: open-circuit volts behind series ohms. Thread: any; no state.
#pragma once

namespace coilward::circuit {

// Fall of the secondary volts from no load to rated load, over the volts at rated load. Small class 2
// transformers (NEC article 725: at most 30 V and 100 VA) have 10-20 %, common practice. The low end, because
// the ohms of the wire to the controller are counted elsewhere; a prior, until volts are measured.
inline constexpr double kTypicalRegulation = 0.10;

// Resistive: the leakage of a small transformer is mostly the resistance of its windings. rated_volts is at
// rated load; all arguments above 0.
double source_ohms_from_rating(double rated_volts, double volt_amps, double regulation = kTypicalRegulation);
// What the secondary has with nothing on, when it has rated_volts at rated, resistive load.
double open_circuit_volts(double rated_volts, double volt_amps, double source_ohms);
// (no load - full load) / full load.
double regulation(double no_load_volts, double full_load_volts);

}  // namespace coilward::circuit
