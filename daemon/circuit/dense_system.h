// A square system of linear equations in complex numbers, solved by LU factors with partial pivoting (Golub
// and Van Loan, Matrix Computations, algorithm 3.4.1). Thread: one at a time.
#pragma once

#include <complex>
#include <vector>

namespace coilward::circuit {

class DenseSystem {
 public:
  explicit DenseSystem(int size) : size_(size), a_(count(size, size)), b_(count(size, 1)) {}

  std::complex<double>& at(int row, int column) { return a_[count(size_, row) + count(column, 1)]; }
  std::complex<double>& right(int row) { return b_[count(row, 1)]; }

  // Leaves the answer in right(); false when the matrix is singular or a value is not finite. Uses up the
  // matrix either way.
  bool solve();

 private:
  static std::size_t count(int a, int b) { return static_cast<std::size_t>(a) * static_cast<std::size_t>(b); }
  int pivot_row(int column);
  void swap_rows(int a, int b);
  void eliminate_below(int column);
  void substitute_back();

  int size_;
  std::vector<std::complex<double>> a_;  // by rows
  std::vector<std::complex<double>> b_;
};

}  // namespace coilward::circuit
