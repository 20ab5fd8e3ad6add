#include "daemon/simulate/inverse.h"

namespace coilward::simulate {

std::vector<double> inverse(std::vector<double> matrix, std::size_t n) {
  std::vector<double> result(n * n, 0.0);
  for (std::size_t i = 0; i < n; ++i) result[i * n + i] = 1;
  const auto scale = [n](std::vector<double>& of, std::size_t row, double by) {
    for (std::size_t k = 0; k < n; ++k) of[row * n + k] *= by;
  };
  const auto take_away = [n](std::vector<double>& of, std::size_t row, std::size_t from, double times) {
    for (std::size_t k = 0; k < n; ++k) of[row * n + k] -= times * of[from * n + k];
  };
  for (std::size_t column = 0; column < n; ++column) {
    const double pivot = matrix[column * n + column];
    scale(matrix, column, 1 / pivot);
    scale(result, column, 1 / pivot);
    for (std::size_t row = 0; row < n; ++row) {
      const double times = matrix[row * n + column];
      if (row == column || times == 0) continue;
      take_away(matrix, row, column, times);
      take_away(result, row, column, times);
    }
  }
  return result;
}

}  // namespace coilward::simulate
