#include "solve/geometry.hpp"

#include <cmath>

namespace evenwall {
namespace {

constexpr Complex kJ{0, 1};
constexpr double kDifferenceStep = 1e-5;  // radians; central differences of smooth functions of order one: 1e-10 relative

}  // namespace

Response response_at(double psi_rad, const ResponseShape& shape) {
  const double a = psi_rad + shape.bend;
  const double b = psi_rad + shape.shear;
  const double c = psi_rad - shape.shear;
  const double e = psi_rad - shape.bend;
  const Complex ll_slope = -std::sin(a) - kJ * shape.quadrature_left * std::cos(a);
  const Complex lr_slope = std::cos(b) - kJ * shape.quadrature_left * std::sin(b);
  const Complex rl_slope = -std::cos(c) - kJ * shape.quadrature_right * std::sin(c);
  const Complex rr_slope = -std::sin(e) + kJ * shape.quadrature_right * std::cos(e);
  Response r;
  // Slopes in the order ψ, shear, bend, quadrature left, quadrature right.
  r.left_from_left = {std::cos(a) - kJ * shape.quadrature_left * std::sin(a), {ll_slope, 0, ll_slope, -kJ * std::sin(a), 0}};
  r.left_from_right = {std::sin(b) + kJ * shape.quadrature_left * std::cos(b), {lr_slope, lr_slope, 0, kJ * std::cos(b), 0}};
  r.right_from_left = {-std::sin(c) + kJ * shape.quadrature_right * std::cos(c), {rl_slope, -rl_slope, 0, 0, kJ * std::cos(c)}};
  r.right_from_right = {std::cos(e) + kJ * shape.quadrature_right * std::sin(e), {rr_slope, 0, -rr_slope, 0, kJ * std::sin(e)}};
  return r;
}

Response::Term quotient(const Response::Term& numerator, const Response::Term& denominator) {
  Response::Term result;
  result.value = numerator.value / denominator.value;
  for (std::size_t i = 0; i < result.slope.size(); ++i) {
    result.slope[i] = (numerator.slope[i] - result.value * denominator.slope[i]) / denominator.value;
  }
  return result;
}

Nudged nudged(double psi_rad, const ResponseShape& shape, int unknown, double by) {
  Nudged moved{psi_rad, shape};
  double* const unknowns[] = {&moved.psi_rad, &moved.shape.shear, &moved.shape.bend, &moved.shape.quadrature_left,
                              &moved.shape.quadrature_right};
  *unknowns[unknown] += by;
  return moved;
}

OwnLeaks own_leaks(double psi_rad, const ResponseShape& shape) {
  const Response r = response_at(psi_rad, shape);
  return {r.left_from_right.value / r.left_from_left.value, r.right_from_left.value / r.right_from_right.value};
}

double criterion(CriterionKind kind, double psi_rad, const ResponseShape& shape) {
  if (kind == CriterionKind::kLeast) {
    const Response r = response_at(psi_rad, shape);
    const auto rl = quotient(r.left_from_right, r.left_from_left);
    const auto lr = quotient(r.right_from_left, r.right_from_right);
    return 0.5 * (std::conj(rl.value) * rl.slope[0] + std::conj(lr.value) * lr.slope[0]).real();
  }
  const auto [rl, lr] = own_leaks(psi_rad, shape);
  if (kind == CriterionKind::kEqual) return 0.25 * (std::norm(rl) - std::norm(lr));
  return 0.5 * (rl * std::conj(lr)).imag();
}

Eigen::Matrix<double, 1 + kShapeSize, 1> criterion_slope(CriterionKind kind, double psi_rad, const ResponseShape& shape) {
  Eigen::Matrix<double, 1 + kShapeSize, 1> slope;
  for (int i = 0; i <= kShapeSize; ++i) {
    const auto moved = [&](double by) {
      const Nudged at = nudged(psi_rad, shape, i, by);
      return criterion(kind, at.psi_rad, at.shape);
    };
    slope[i] = (moved(kDifferenceStep) - moved(-kDifferenceStep)) / (2 * kDifferenceStep);
  }
  return slope;
}

}  // namespace evenwall
