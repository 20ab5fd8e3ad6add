#include "daemon/simulate/branch.h"

#include <numbers>

namespace coilward::simulate {
namespace {

using Complex = std::complex<double>;

Complex load_impedance(const Branch& branch, double hertz) {
  if (branch.coil == nullptr) return branch.coil_ohms;
  const Complex inductive(0, 2 * std::numbers::pi * hertz * branch.henries());
  return branch.coil_ohms + inductive * branch.loss_ohms / (inductive + branch.loss_ohms);
}

// Gauss with the largest pivot; a system of a handful of loads.
void solve_in_place(std::vector<Complex>& matrix, std::vector<Complex>& right) {
  const std::size_t n = right.size();
  for (std::size_t column = 0; column < n; ++column) {
    std::size_t pivot = column;
    for (std::size_t row = column + 1; row < n; ++row)
      if (std::norm(matrix[row * n + column]) > std::norm(matrix[pivot * n + column])) pivot = row;
    for (std::size_t k = 0; pivot != column && k < n; ++k)
      std::swap(matrix[pivot * n + k], matrix[column * n + k]);
    std::swap(right[pivot], right[column]);
    for (std::size_t row = column + 1; row < n; ++row) {
      const Complex factor = matrix[row * n + column] / matrix[column * n + column];
      for (std::size_t k = column; k < n; ++k) matrix[row * n + k] -= factor * matrix[column * n + k];
      right[row] -= factor * right[column];
    }
  }
  for (std::size_t row = n; row-- > 0;) {
    for (std::size_t k = row + 1; k < n; ++k) right[row] -= matrix[row * n + k] * right[k];
    right[row] /= matrix[row * n + row];
  }
}

}  // namespace

std::vector<double> shared_ohms(std::span<const Branch> branches) {
  const std::size_t n = branches.size();
  std::vector<double> shared(n * n, 0.0);
  for (std::size_t a = 0; a < n; ++a)
    for (std::size_t b = 0; b < n; ++b)
      for (const PathPiece& mine : branches[a].path)
        for (const PathPiece& other : branches[b].path)
          if (mine.key == other.key) shared[a * n + b] += mine.ohms;
  return shared;
}

std::vector<Complex> steady_currents(double volts, double hertz, std::span<const Branch> branches,
                                     std::span<const double> shared) {
  const std::size_t n = branches.size();
  std::vector<Complex> matrix(shared.begin(), shared.end());
  std::vector<Complex> amps(n, Complex(volts));
  for (std::size_t i = 0; i < n; ++i) matrix[i * n + i] += load_impedance(branches[i], hertz);
  solve_in_place(matrix, amps);
  return amps;
}

}  // namespace coilward::simulate
