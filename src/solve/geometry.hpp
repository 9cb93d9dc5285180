// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the exact tilt response of a cartridge on a record, without small-angle approximations.
#pragma once

#include <array>

#include "evenwall/units.hpp"
#include "numeric/matrix.hpp"

namespace evenwall::internal::solve {

/// The parameters of cartridge and record that one session shows in addition to gains and tilt, radians (docs/method.md, "The response").
///
/// A generator's real part gives a direction for each channel, and its imaginary part a quadrature share. With the directions of the two
/// cuts, and with the tilt's zero at least crosstalk, these four numbers describe every complex generator and every cut.
struct ResponseShape {
  double shear = 0;             ///< σ: half the sum of the departures of the two channels and of the two cuts from a right angle
  double bend = 0;              ///< w: half the difference of these departures, channels minus cuts
  double quadrature_left = 0;   ///< s_L: quadrature share of the left channel
  double quadrature_right = 0;  ///< s_R
};
inline constexpr int kShapeSize = 4;

/// Complex responses of the outputs to the groove walls, without gains; each with its derivatives by (ψ, σ, w, s_L, s_R).
struct Response {
  struct Term {
    Complex value;
    std::array<Complex, 1 + kShapeSize> slope{};
  };
  Term left_from_left, left_from_right, right_from_left, right_from_right;
};

/// ψ: tilt from least crosstalk, radians, clockwise seen from the front.
Response response_at(double psi_rad, const ResponseShape& shape);

/// Quotient with its derivatives. Requires: denominator ≠ 0.
Response::Term quotient(const Response::Term& numerator, const Response::Term& denominator);

/// Tilt and shape after a change of one of (ψ, σ, w, s_L, s_R), counted from 0; used for derivatives by differences.
struct Nudged {
  double psi_rad;
  ResponseShape shape;
};
Nudged nudged(double psi_rad, const ResponseShape& shape, int unknown, double by);

/// Crosstalk relative to the receiving channel's own level. This ratio matters to the ear, and it does not depend on the gains.
struct OwnLeaks {
  Complex right_into_left;
  Complex left_into_right;
};
OwnLeaks own_leaks(double psi_rad, const ResponseShape& shape);

enum class CriterionKind { kEqual, kLeast, kPhase };

/// A function that is zero if the criterion is met: equal magnitudes of the crosstalk, least sum of its squares (a quarter of the
/// derivative by ψ), or equal phases. Near ψ = 0 it is about ψσ + ηs, ψ, or ψs − ησ, with s and η the mean and half the difference of the
/// quadratures (docs/method.md, "Criteria").
double criterion(CriterionKind kind, double psi_rad, const ResponseShape& shape);

/// `criterion` and its derivatives by (ψ, σ, w, s_L, s_R).
struct CriterionAt {
  double value;
  Eigen::Matrix<double, 1 + kShapeSize, 1> slope;
};
CriterionAt criterion_at(CriterionKind kind, double psi_rad, const ResponseShape& shape);

/// Derivatives of `criterion` by (ψ, σ, w, s_L, s_R).
Eigen::Matrix<double, 1 + kShapeSize, 1> criterion_slope(CriterionKind kind, double psi_rad, const ResponseShape& shape);

}  // namespace evenwall::internal::solve
