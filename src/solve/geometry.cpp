// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/geometry.hpp"

#include <cassert>
#include <cmath>

namespace evenwall::internal::solve {
namespace {

constexpr Complex kJ{0, 1};

/// A quotient of two terms (the crosstalk of one channel), its derivatives by ψ and shape, and the derivatives of these by ψ.
struct TurningQuotient {
  Complex value;
  std::array<Complex, 1 + kShapeSize> slope, turning;
};

TurningQuotient turning_quotient(const Response::Term& n, const std::array<Complex, 1 + kShapeSize>& n_turning, const Response::Term& d,
                                 const std::array<Complex, 1 + kShapeSize>& d_turning) {
  const Complex inverse = 1.0 / d.value;
  TurningQuotient q;
  q.value = n.value * inverse;
  for (std::size_t k = 0; k < q.slope.size(); ++k) q.slope[k] = (n.slope[k] - q.value * d.slope[k]) * inverse;
  for (std::size_t k = 0; k < q.slope.size(); ++k) {
    q.turning[k] = (n_turning[k] - q.slope[k] * d.slope[0] - q.slope[0] * d.slope[k] - q.value * d_turning[k]) * inverse;
  }
  return q;
}

/// Re(a·conj(b)), without the products that cancel.
double inner(Complex a, Complex b) { return a.real() * b.real() + a.imag() * b.imag(); }

CriterionAt least_at(double psi_rad, const ResponseShape& shape, const Response& r) {
  // Second derivatives by ψ and each of (ψ, shear, bend, quadratures). Each term is a rotating vector, so its second derivative by ψ is
  // its own negative.
  const Complex ll = r.left_from_left.value, lr = r.left_from_right.value, rl = r.right_from_left.value, rr = r.right_from_right.value;
  const Complex ll_quadrature = -kJ * std::cos(psi_rad + shape.bend), lr_quadrature = -kJ * std::sin(psi_rad + shape.shear);
  const Complex rl_quadrature = -kJ * std::sin(psi_rad - shape.shear), rr_quadrature = kJ * std::cos(psi_rad - shape.bend);
  const TurningQuotient a =
      turning_quotient(r.left_from_right, {-lr, -lr, 0, lr_quadrature, 0}, r.left_from_left, {-ll, 0, -ll, ll_quadrature, 0});
  const TurningQuotient b =
      turning_quotient(r.right_from_left, {-rl, rl, 0, 0, rl_quadrature}, r.right_from_right, {-rr, 0, rr, 0, rr_quadrature});
  CriterionAt at{0.5 * (inner(a.value, a.slope[0]) + inner(b.value, b.slope[0])), {}};
  for (std::size_t k = 0; k < a.slope.size(); ++k) {
    at.slope[static_cast<Eigen::Index>(k)] =
        0.5 * (inner(a.slope[k], a.slope[0]) + inner(a.value, a.turning[k]) + inner(b.slope[k], b.slope[0]) + inner(b.value, b.turning[k]));
  }
  return at;
}

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
  assert(denominator.value != Complex());
  const Complex inverse = 1.0 / denominator.value;
  Response::Term result;
  result.value = numerator.value * inverse;
  for (std::size_t i = 0; i < result.slope.size(); ++i) {
    result.slope[i] = (numerator.slope[i] - result.value * denominator.slope[i]) * inverse;
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

CriterionAt criterion_at(CriterionKind kind, double psi_rad, const ResponseShape& shape) {
  const Response r = response_at(psi_rad, shape);
  if (kind == CriterionKind::kLeast) return least_at(psi_rad, shape, r);
  const auto a = quotient(r.left_from_right, r.left_from_left);
  const auto b = quotient(r.right_from_left, r.right_from_right);
  CriterionAt at{0, {}};
  if (kind == CriterionKind::kEqual) {
    at.value = 0.25 * (std::norm(a.value) - std::norm(b.value));
    for (std::size_t k = 0; k < a.slope.size(); ++k) {
      at.slope[static_cast<Eigen::Index>(k)] = 0.5 * (inner(a.value, a.slope[k]) - inner(b.value, b.slope[k]));
    }
    return at;
  }
  const auto outer = [](Complex x, Complex y) { return x.imag() * y.real() - x.real() * y.imag(); };  // Im(x·conj(y))
  at.value = 0.5 * outer(a.value, b.value);
  for (std::size_t k = 0; k < a.slope.size(); ++k) {
    at.slope[static_cast<Eigen::Index>(k)] = 0.5 * (outer(a.slope[k], b.value) + outer(a.value, b.slope[k]));
  }
  return at;
}

double criterion(CriterionKind kind, double psi_rad, const ResponseShape& shape) { return criterion_at(kind, psi_rad, shape).value; }

Eigen::Matrix<double, 1 + kShapeSize, 1> criterion_slope(CriterionKind kind, double psi_rad, const ResponseShape& shape) {
  return criterion_at(kind, psi_rad, shape).slope;
}

}  // namespace evenwall::internal::solve
