// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/reflection.hpp"

#include <algorithm>
#include <cmath>

namespace evenwall::internal::numeric {

double reflect_first_column(double* block, std::size_t rows, std::size_t width, std::size_t stride, double* scratch) {
  double square = 0;
  for (std::size_t r = 0; r < rows; ++r) square += block[r * stride] * block[r * stride];
  if (!(square > 0)) return 0;
  const double length = block[0] > 0 ? -std::sqrt(square) : std::sqrt(square);
  const double head = block[0] - length;
  block[0] = head;
  std::fill(scratch, scratch + width, 0.0);
  for (std::size_t r = 0; r < rows; ++r) {
    for (std::size_t j = 1; j < width; ++j) scratch[j] += block[r * stride] * block[r * stride + j];
  }
  for (std::size_t j = 0; j < width; ++j) scratch[j] /= length * head;
  for (std::size_t r = 0; r < rows; ++r) {
    for (std::size_t j = 1; j < width; ++j) block[r * stride + j] += block[r * stride] * scratch[j];
  }
  return length;
}

}  // namespace evenwall::internal::numeric
