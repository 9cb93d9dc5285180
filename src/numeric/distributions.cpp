// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/distributions.hpp"

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>

namespace evenwall::internal::numeric {
namespace {

// Computes in double: long double costs ten times as much for digits that no tilt has. Valgrind computes long doubles in 64 bits, and
// Boost's constants for them overflow there.
using InDouble = boost::math::policies::policy<boost::math::policies::promote_double<false>>;

constexpr double kNormalFrom = 1e6;  // degrees of freedom past which t and normal quantiles agree to 1e-6

constexpr double kHillFrom = 100.0;  // degrees of freedom from which the series below is accurate to rounding

/// The normal deviate with the same tail probability. Requires: t ≥ 0.
/// Source: G. W. Hill, Algorithm 395, Communications of the ACM 13, 1970 (from memory; compared with boost's incomplete beta in the tests).
double normal_deviate_of(double t, double degrees_of_freedom) {
  const double a = degrees_of_freedom - 0.5;
  const double b = 48 * a * a;
  const double z2 = a * std::log1p(t * t / degrees_of_freedom);
  const double z = std::sqrt(z2);
  return z * (1 + (z2 + 3) / b - (((4 * z2 + 33) * z2 + 240) * z2 + 855) / (10 * b * (b + 0.8 * z2 * z2 + 100)));
}

}  // namespace

double normal_cdf(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }

double normal_quantile(double probability) {
  return boost::math::quantile(boost::math::normal_distribution<double, InDouble>(), probability);
}

double student_cdf(double t, double degrees_of_freedom) {
  if (degrees_of_freedom >= kNormalFrom) return normal_cdf(t);
  if (degrees_of_freedom >= kHillFrom) return normal_cdf(std::copysign(normal_deviate_of(std::abs(t), degrees_of_freedom), t));
  return boost::math::cdf(boost::math::students_t_distribution<double, InDouble>(degrees_of_freedom), t);
}

double student_quantile(double probability, double degrees_of_freedom) {
  if (degrees_of_freedom >= kNormalFrom) return normal_quantile(probability);
  return boost::math::quantile(boost::math::students_t_distribution<double, InDouble>(degrees_of_freedom), probability);
}

double chi_square_upper(double value, double degrees_of_freedom) {
  if (!(value > 0)) return 1;
  return boost::math::cdf(boost::math::complement(boost::math::chi_squared_distribution<double, InDouble>(degrees_of_freedom), value));
}

double fisher_f_upper(double value, double numerator_degrees, double denominator_degrees) {
  if (!(value > 0)) return 1;
  return boost::math::cdf(
      boost::math::complement(boost::math::fisher_f_distribution<double, InDouble>(numerator_degrees, denominator_degrees), value));
}

std::optional<double> bracketed_root(const std::function<double(double)>& f, double low, double high) {
  const double at_low = f(low);
  const double at_high = f(high);
  if (at_low == 0) return low;
  if (at_high == 0) return high;
  if (!(at_low * at_high < 0)) return std::nullopt;
  std::uintmax_t steps = 200;
  const auto close = boost::math::tools::eps_tolerance<double>(50);
  const auto [a, b] = boost::math::tools::toms748_solve(f, low, high, at_low, at_high, close, steps);
  return 0.5 * (a + b);
}

}  // namespace evenwall::internal::numeric
