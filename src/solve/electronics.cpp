// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/electronics.hpp"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

#include "evenwall/error.hpp"

namespace evenwall::internal::solve {

CalibrationPoint calibration_at(const Calibration& calibration, double frequency_hz) {
  const CalibrationPoint* nearest = nullptr;
  for (const CalibrationPoint& point : calibration.points) {
    const auto off = [&](const CalibrationPoint& p) { return std::abs(p.frequency_hz - frequency_hz); };
    if (off(point) <= kFrequencyMatch * frequency_hz && (nearest == nullptr || off(point) < off(*nearest))) nearest = &point;
  }
  if (nearest == nullptr) {
    throw Error(
        ErrorKind::kData,
        fmt::format("the calibration has no point within 5 % of {:.1f} Hz. Calibrate the electronics at that frequency.", frequency_hz));
  }
  return *nearest;
}

CalibrationPoint unmeasured_electronics(double crosstalk_db, double frequency_hz) {
  // A phasor of known magnitude and unknown phase has this standard deviation in each part.
  const double u = amplitude_ratio(crosstalk_db) / std::numbers::sqrt2;
  return {frequency_hz, {1, 0, 0, 1}, {u, u}};
}

void take_out_electronics(const CalibrationPoint& electronics, Observation& o) {
  const Complex rl = electronics.matrix[1];
  const Complex lr = electronics.matrix[2];
  // The outputs (q, 1) belong to the inputs (q − e_rl, 1 − e_lr·q), up to a common factor; the other direction likewise.
  const Complex right_drive = 1.0 - lr * o.right_into_left;
  const Complex left_drive = 1.0 - rl * o.left_into_right;
  if (o.interchannel_phase_rad) {
    const Complex both = std::polar(std::exp(o.ln_level_ratio.value_or(0)), *o.interchannel_phase_rad) * (o.vertical ? -1.0 : 1.0);
    o.interchannel_phase_rad = std::arg((both - rl) / (1.0 - lr * both) * (o.vertical ? -1.0 : 1.0));
  }
  if (o.ln_level_ratio) *o.ln_level_ratio += std::log(std::abs(left_drive)) - std::log(std::abs(right_drive));
  o.right_into_left = (o.right_into_left - rl) / right_drive;
  o.left_into_right = (o.left_into_right - lr) / left_drive;
}

OffsetDoubt electronics_doubt(const CalibrationPoint& electronics) {
  return {electronics.u_off_diagonal[0], electronics.u_off_diagonal[1]};
}

OffsetDoubt groove_doubt(const std::vector<Observation>& observations) {
  double rl2 = 0;
  double lr2 = 0;
  for (const Observation& o : observations) {
    rl2 += o.right_into_left_groove_u * o.right_into_left_groove_u / static_cast<double>(observations.size());
    lr2 += o.left_into_right_groove_u * o.left_into_right_groove_u / static_cast<double>(observations.size());
  }
  return {std::sqrt(rl2), std::sqrt(lr2)};
}

void add_offset_doubt(const OffsetDoubt& doubt, TiltAccount& account) {
  // An offset of the crosstalk moves least crosstalk by half its real part, the shear by half its real part, and its channel's quadrature
  // by its imaginary part. Gains are taken as 1: their departure from 1 times the uncertainty is of second order.
  const auto add = [&](double u, double by_least, double by_shear, int quadrature) {
    if (u == 0) return;
    for (Eigen::MatrixXd* covariance : {&account.covariance, &account.known_covariance}) {
      (*covariance)(0, 0) += u * u * by_least * by_least;
      (*covariance)(0, 2 + kShear) += u * u * by_least * by_shear;
      (*covariance)(2 + kShear, 0) += u * u * by_least * by_shear;
      (*covariance)(2 + kShear, 2 + kShear) += u * u * by_shear * by_shear;
      (*covariance)(2 + quadrature, 2 + quadrature) += u * u;
    }
    account.signal_covariance(kShear, kShear) += u * u * by_shear * by_shear;
    account.signal_covariance(quadrature, quadrature) += u * u;
  };
  add(doubt.right_into_left, -0.5, 0.5, kQuadratureLeft);
  add(doubt.left_into_right, 0.5, 0.5, kQuadratureRight);
}

}  // namespace evenwall::internal::solve
