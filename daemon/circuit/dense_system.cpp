#include "daemon/circuit/dense_system.h"

#include <algorithm>
#include <cmath>

namespace coilward::circuit {
namespace {

using Complex = std::complex<double>;

// As good as the magnitude for choosing a pivot, and without a square root.
double size_of(const Complex& x) { return std::abs(x.real()) + std::abs(x.imag()); }

// to -= factor * x, without the checks for infinities that operator* makes.
void subtract(Complex& to, const Complex& factor, const Complex& x) {
  to = {to.real() - (factor.real() * x.real() - factor.imag() * x.imag()),
        to.imag() - (factor.real() * x.imag() + factor.imag() * x.real())};
}

}  // namespace

int DenseSystem::pivot_row(int column) {
  int best = column;
  for (int row = column + 1; row < size_; ++row)
    if (size_of(at(row, column)) > size_of(at(best, column))) best = row;
  return best;
}

void DenseSystem::swap_rows(int a, int b) {
  if (a == b) return;
  std::swap_ranges(&at(a, 0), &at(a, 0) + size_, &at(b, 0));
  std::swap(right(a), right(b));
}

void DenseSystem::eliminate_below(int column) {
  const Complex inverse = 1.0 / at(column, column);
  for (int row = column + 1; row < size_; ++row) {
    if (at(row, column) == 0.0) continue;  // site networks are mostly zeros
    const Complex factor = at(row, column) * inverse;
    for (int k = column + 1; k < size_; ++k) subtract(at(row, k), factor, at(column, k));
    subtract(right(row), factor, right(column));
  }
}

void DenseSystem::substitute_back() {
  for (int row = size_ - 1; row >= 0; --row) {
    for (int k = row + 1; k < size_; ++k) subtract(right(row), at(row, k), right(k));
    right(row) /= at(row, row);
  }
}

bool DenseSystem::solve() {
  double largest = 0;
  for (const Complex& x : a_) largest = std::max(largest, size_of(x));
  for (int column = 0; column < size_; ++column) {
    swap_rows(column, pivot_row(column));
    // Also false for a NaN. The bound is the rounding left behind where an exact zero should be.
    if (!(size_of(at(column, column)) > 1e-15 * largest)) return false;
    eliminate_below(column);
  }
  substitute_back();
  return std::all_of(b_.begin(), b_.end(), [](const Complex& x) { return std::isfinite(size_of(x)); });
}

}  // namespace coilward::circuit
