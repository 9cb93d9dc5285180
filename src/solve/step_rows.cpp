// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/step_rows.hpp"

#include <array>
#include <cmath>

#include "numeric/reflection.hpp"

namespace evenwall::internal::solve {

StepRows::StepRows(Eigen::Index steps, const GainSpread& spread) : arrow_(steps, kCommonSize) {
  if (spread.neper > 0) own_unknowns_.push_back(kLnGain), spreads_.push_back(spread.neper);
  if (spread.phase_rad > 0) own_unknowns_.push_back(kGainPhase), spreads_.push_back(spread.phase_rad);
  width_ = own_unknowns_.size() + 1 + kCommonSize + 1;
  scratch_.resize(width_);
}

void StepRows::add(double psi_slope, const double* common_slopes, double value) {
  if (own_unknowns_.empty()) {
    arrow_.add(psi_slope, common_slopes, value);
    squares_of_values_ += value * value;
    return;
  }
  for (std::size_t k = 0; k < own_unknowns_.size(); ++k) block_.push_back(spreads_[k] * common_slopes[own_unknowns_[k]]);
  block_.push_back(psi_slope);
  block_.insert(block_.end(), common_slopes, common_slopes + kCommonSize);
  block_.push_back(value);
  squares_of_values_ += value * value;
}

void StepRows::end_step(Complex ln_gain) {
  const std::size_t own = own_unknowns_.size();
  for (std::size_t k = 0; k < own; ++k) {
    const double stands = own_unknowns_[k] == kLnGain ? ln_gain.real() : ln_gain.imag();
    block_.resize(block_.size() + width_, 0.0);
    block_[block_.size() - width_ + k] = 1;
    block_.back() = -stands / spreads_[k];
    squares_of_values_ += block_.back() * block_.back();
  }
  const std::size_t rows = own == 0 ? 0 : block_.size() / width_;
  for (std::size_t k = 0; k < own; ++k) {
    double* const corner = block_.data() + k * width_ + k;
    corner[0] = numeric::reflect_first_column(corner, rows - k, width_ - k, width_, scratch_.data());
    log_own_ += std::log(std::abs(corner[0]));
    eliminated_.insert(eliminated_.end(), block_.data() + k * width_, block_.data() + (k + 1) * width_);
  }
  for (std::size_t r = own; r < rows; ++r) {
    const double* const row = block_.data() + r * width_;
    arrow_.add(row[own], row + own + 1, row[width_ - 1]);
  }
  arrow_.end_block();
  block_.clear();
  ++ended_;
}

void StepRows::add_common(const double* slopes, double value) {
  arrow_.add_common(slopes, value);
  squares_of_values_ += value * value;
}

StepRows::Coefficients StepRows::coefficients() {
  numeric::ArrowFit::Coefficients found = arrow_.coefficients();
  Coefficients all{std::move(found.own), std::move(found.common), {}};
  const std::size_t own = own_unknowns_.size();
  if (own == 0) return all;
  all.ln_gain = Eigen::VectorXcd::Zero(ended_);
  for (Eigen::Index s = 0; s < ended_; ++s) {
    const double* const rows = eliminated_.data() + static_cast<std::size_t>(s) * own * width_;
    std::array<double, 2> found_own{};
    for (std::size_t k = own; k-- > 0;) {
      const double* const row = rows + k * width_;
      double left = row[width_ - 1] - row[own] * all.psi[s];
      for (std::size_t c = 0; c < kCommonSize; ++c) left -= row[own + 1 + c] * all.common[static_cast<Eigen::Index>(c)];
      for (std::size_t j = k + 1; j < own; ++j) left -= row[j] * found_own[j];
      found_own[k] = left / row[k];
    }
    for (std::size_t k = 0; k < own; ++k) {
      const double by = spreads_[k] * found_own[k];
      all.ln_gain[s] += own_unknowns_[k] == kLnGain ? Complex(by, 0) : Complex(0, by);
    }
  }
  return all;
}

double StepRows::log_determinant() { return arrow_.log_determinant() + 2 * log_own_; }

}  // namespace evenwall::internal::solve
