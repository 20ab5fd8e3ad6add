#include "daemon/circuit/phasor.h"

#include <cmath>

namespace coilward::circuit {

Impedance in_parallel(Impedance a, Impedance b) {
  if (std::isinf(a.real())) return b;
  if (std::isinf(b.real())) return a;
  const Impedance sum = a + b;
  return sum == 0.0 ? Impedance{} : a * b / sum;
}

}  // namespace coilward::circuit
