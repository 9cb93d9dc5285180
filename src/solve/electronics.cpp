#include "solve/electronics.hpp"

#include <fmt/format.h>

#include <cmath>

#include "evenwall/error.hpp"

namespace evenwall {
namespace {}  // namespace

CalibrationPoint calibration_at(const Calibration& calibration, double frequency_hz) {
  const CalibrationPoint* nearest = nullptr;
  for (const CalibrationPoint& point : calibration.points) {
    const auto off = [&](const CalibrationPoint& p) { return std::abs(p.frequency_hz - frequency_hz); };
    if (off(point) <= kFrequencyMatch * frequency_hz && (nearest == nullptr || off(point) < off(*nearest))) nearest = &point;
  }
  if (nearest == nullptr) {
    throw Error(ErrorKind::kData,
                fmt::format("the calibration has no point within 5 % of {:.1f} Hz; calibrate the electronics at that tone", frequency_hz));
  }
  return *nearest;
}

void take_out_electronics(const CalibrationPoint& electronics, std::vector<Observation>& observations) {
  const Complex rl = electronics.matrix[1];
  const Complex lr = electronics.matrix[2];
  for (Observation& o : observations) {
    // Inputs behind outputs (q, 1) are (q − e_rl, 1 − e_lr·q) up to a common factor, likewise for the other side.
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
}

void add_electronics_doubt(const CalibrationPoint& electronics, TiltAccount& account) {
  // An offset of a leak moves least crosstalk by half its real part, the shear by half of it, its channel's quadrature by its imaginary
  // part. Gains near one: their product with a doubt is of second order.
  const double u_rl = electronics.u_off_diagonal[0];
  const double u_lr = electronics.u_off_diagonal[1];
  const auto add = [&](double u, double by_least, double by_shear, int quadrature) {
    Eigen::VectorXd real = Eigen::VectorXd::Zero(2 + kCommonSize);
    real[0] = by_least;
    real[2 + kShear] = by_shear;
    Eigen::VectorXd imaginary = Eigen::VectorXd::Zero(2 + kCommonSize);
    imaginary[2 + quadrature] = 1;
    account.covariance += u * u * (real * real.transpose() + imaginary * imaginary.transpose());
    account.signal_covariance(kShear, kShear) += u * u * by_shear * by_shear;
    account.signal_covariance(quadrature, quadrature) += u * u;
  };
  add(u_rl, -0.5, 0.5, kQuadratureLeft);
  add(u_lr, 0.5, 0.5, kQuadratureRight);
}

}  // namespace evenwall
