#include "numeric/distributions.hpp"

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>

namespace evenwall {
namespace {

constexpr double kNormalFrom = 1e6;  // degrees of freedom past which t and normal quantiles agree to 1e-6

}  // namespace

double normal_cdf(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }

double student_cdf(double t, double degrees_of_freedom) {
  if (degrees_of_freedom >= kNormalFrom) return normal_cdf(t);
  return boost::math::cdf(boost::math::students_t(degrees_of_freedom), t);
}

double student_quantile(double probability, double degrees_of_freedom) {
  if (degrees_of_freedom >= kNormalFrom) return boost::math::quantile(boost::math::normal(), probability);
  return boost::math::quantile(boost::math::students_t(degrees_of_freedom), probability);
}

double chi_square_upper(double value, double degrees_of_freedom) {
  if (!(value > 0)) return 1;
  return boost::math::cdf(boost::math::complement(boost::math::chi_squared(degrees_of_freedom), value));
}

double fisher_f_upper(double value, double numerator_degrees, double denominator_degrees) {
  if (!(value > 0)) return 1;
  return boost::math::cdf(boost::math::complement(boost::math::fisher_f(numerator_degrees, denominator_degrees), value));
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

}  // namespace evenwall
