// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/revolution.hpp"

#include <numbers>

namespace evenwall::internal::numeric {

Eigen::MatrixXd revolution_terms(const std::vector<double>& time_s, double middle_s, double rpm, int harmonics) {
  Eigen::MatrixXd terms(time_s.size(), 1 + 2 * harmonics);
  for (std::size_t f = 0; f < time_s.size(); ++f) {
    const auto row = static_cast<Eigen::Index>(f);
    terms(row, 0) = 1;
    for (int h = 1; h <= harmonics; ++h) {
      const double angle = 2.0 * std::numbers::pi * rpm / 60.0 * h * (time_s[f] - middle_s);
      const Eigen::Index sine = Eigen::Index{2} * h;
      terms(row, sine - 1) = std::cos(angle);
      terms(row, sine) = std::sin(angle);
    }
  }
  return terms;
}

}  // namespace evenwall::internal::numeric
