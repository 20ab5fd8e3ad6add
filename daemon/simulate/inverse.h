#pragma once

#include <vector>

namespace coilward::simulate {

// The inverse of a small n x n matrix in rows, without pivoting: for matrices that resistances make, whose
// diagonal leads. Gauss and Jordan.
std::vector<double> inverse(std::vector<double> matrix, std::size_t n);

}  // namespace coilward::simulate
