// SPDX-License-Identifier: GPL-3.0-or-later
// The exact tilt response of a cartridge on a record, small numbers dropped nowhere.
#pragma once

#include <array>

#include "evenwall/units.hpp"
#include "numeric/matrix.hpp"

namespace evenwall::internal::solve {

/// What one session shows of cartridge and record beside gains and tilt, radians (docs/method.md, "The response").
///
/// A generator's real part is a direction for each channel and its imaginary part a quadrature share; with the directions of the two
/// cuts and the tilt's zero put at least crosstalk these four numbers hold every complex generator and every cut.
struct ResponseShape {
  double shear = 0;             ///< σ: half of what the two channels' and the two cuts' directions miss of a right angle, together
  double bend = 0;              ///< w: the same, channels minus cuts
  double quadrature_left = 0;   ///< s_L: quadrature share of the left channel
  double quadrature_right = 0;  ///< s_R
};
inline constexpr int kShapeSize = 4;

/// Complex responses of the outputs to the groove walls, gains left out; each with its derivative by (ψ, σ, w, s_L, s_R).
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

/// Tilt and shape with one of (ψ, σ, w, s_L, s_R), counted from 0, moved: for derivatives by differences.
struct Nudged {
  double psi_rad;
  ResponseShape shape;
};
Nudged nudged(double psi_rad, const ResponseShape& shape, int unknown, double by);

/// Leaks against the receiving channel's own level: what counts for the ear, free of gains.
struct OwnLeaks {
  Complex right_into_left;
  Complex left_into_right;
};
OwnLeaks own_leaks(double psi_rad, const ResponseShape& shape);

enum class CriterionKind { kEqual, kLeast, kPhase };

/// Zero where the criterion is met: equal |leaks|; least sum of squares (half its derivative by ψ, over 2); equal phase. Near ψ = 0
/// about ψσ + ηs, ψ, and ψs − ησ with s and η the mean and half difference of the quadratures (docs/method.md, "Criteria").
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
