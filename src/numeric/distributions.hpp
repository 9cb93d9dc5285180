// SPDX-License-Identifier: GPL-3.0-or-later
// Computes distribution functions, their inverses and roots.
#pragma once

#include <functional>
#include <optional>

namespace evenwall::internal::numeric {

/// Half-width of a 95 % interval of a normal distribution, divided by its standard uncertainty.
inline constexpr double kNormal95 = 1.959964;

double normal_cdf(double z);
double normal_quantile(double probability);
/// Student's t with ν degrees of freedom (may be fractional); ν ≥ 1e6 is treated as normal.
double student_cdf(double t, double degrees_of_freedom);
double student_quantile(double probability, double degrees_of_freedom);
/// Upper tail of chi-square.
double chi_square_upper(double value, double degrees_of_freedom);

/// Upper tail of Fisher's F.
double fisher_f_upper(double value, double numerator_degrees, double denominator_degrees);

/// A root of f between low and high by a bracketing method (TOMS 748), accurate to rounding. Nothing if f has the same sign at both ends.
std::optional<double> bracketed_root(const std::function<double(double)>& f, double low, double high);

}  // namespace evenwall::internal::numeric
