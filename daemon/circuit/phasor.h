// Alternating quantities at one frequency: a complex number whose magnitude is the RMS value and whose angle
// is taken from the source's open-circuit voltage. Impedances are complex ohms at that frequency, inductance
// positive.
#pragma once

#include <complex>

namespace coilward::circuit {

using Phasor = std::complex<double>;
using Impedance = std::complex<double>;

// Two impedances side by side. Either may be zero (a dead short) or have an infinite real part (nothing
// there).
Impedance in_parallel(Impedance a, Impedance b);

}  // namespace coilward::circuit
