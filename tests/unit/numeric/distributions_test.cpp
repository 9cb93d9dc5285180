// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/distributions.hpp"

#include <boost/math/special_functions/beta.hpp>
#include <cmath>

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;

TEST_CASE("Student and normal quantiles equal published ones") {
  // NIST/SEMATECH e-Handbook, section 1.3.6.7.2, critical values of Student's t at 0.975 (three decimals).
  CHECK_THAT(student_quantile(0.975, 1), WithinAbs(12.706, 5e-4));
  CHECK_THAT(student_quantile(0.975, 3), WithinAbs(3.182, 5e-4));
  CHECK_THAT(student_quantile(0.975, 10), WithinAbs(2.228, 5e-4));
  // t.975(9) to 30 digits by mpmath; R and GSL agree.
  CHECK_THAT(student_quantile(0.975, 9), WithinAbs(2.26215716279821, 1e-13));
  CHECK_THAT(student_quantile(0.975, 1e9), WithinAbs(1.959963984540054, 1e-12));  // R qnorm(0.975), from memory
}

TEST_CASE("Distribution functions and quantiles are each other's inverse") {
  for (const double nu : {1.0, 2.5, 7.0, 40.0, 1e7}) {
    for (const double p : {0.001, 0.025, 0.3, 0.5, 0.9, 0.999}) {
      CHECK_THAT(student_cdf(student_quantile(p, nu), nu), WithinAbs(p, 1e-12));
    }
  }
  CHECK_THAT(normal_cdf(-8.0), WithinRel(6.220960574271785e-16, 1e-10));  // R pnorm(-8), from memory
}

TEST_CASE("From a hundred degrees of freedom on, Hill's series for Student's t equals the incomplete beta function") {
  for (const double nu : {99.9, 100.0, 137.3, 500.0, 998.0, 1e5}) {
    for (const double t : {-37.0, -8.0, -3.0, -1.0, -0.01, 0.0, 1e-6, 0.3, 1.96, 2.6, 5.0, 12.0}) {
      INFO("nu " << nu << ", t " << t);
      // Uses the share t²/(ν + t²), which is small if t is small. Its complement is then near one and has lost its digits.
      const long double t2 = static_cast<long double>(t) * t;
      const auto tail = static_cast<double>(0.5L * boost::math::ibetac(0.5L, 0.5L * nu, t2 / (nu + t2)));
      // The series omits 7e-16 at a hundred degrees of freedom, and less beyond. The normal distribution itself is accurate to 2e-16.
      CHECK_THAT(student_cdf(t, nu), WithinAbs(t > 0 ? 1 - tail : tail, 2e-15));
    }
  }
}

TEST_CASE("The normal quantile is the inverse of the distribution function") {
  for (const double p : {1e-12, 0.025, 0.4, 0.5, 0.975}) CHECK_THAT(normal_cdf(normal_quantile(p)), WithinRel(p, 1e-13));
}

TEST_CASE("The upper tail of chi-square equals published critical values") {
  // NIST/SEMATECH e-Handbook, section 1.3.6.7.4: upper 5 % at 1, 5, 10 degrees of freedom.
  CHECK_THAT(chi_square_upper(3.841, 1), WithinAbs(0.05, 5e-5));
  CHECK_THAT(chi_square_upper(11.070, 5), WithinAbs(0.05, 5e-5));
  CHECK_THAT(chi_square_upper(18.307, 10), WithinAbs(0.05, 5e-5));
  CHECK(chi_square_upper(0, 3) == 1);
}

TEST_CASE("The upper tail of F equals published critical values") {
  // NIST/SEMATECH e-Handbook, section 1.3.6.7.3, upper 5 %: F(1,10) 4.965, F(5,10) 3.326, F(10,20) 2.348.
  CHECK_THAT(fisher_f_upper(4.965, 1, 10), WithinAbs(0.05, 5e-5));
  CHECK_THAT(fisher_f_upper(3.326, 5, 10), WithinAbs(0.05, 5e-5));
  CHECK_THAT(fisher_f_upper(2.348, 10, 20), WithinAbs(0.05, 5e-5));
  CHECK(fisher_f_upper(0, 2, 3) == 1);
}

TEST_CASE("A bracketed root is found to rounding, and without a change of sign no root is returned") {
  const auto root = bracketed_root([](double x) { return x * x * x - 2; }, 0, 3);
  REQUIRE(root);
  CHECK_THAT(*root, WithinAbs(std::cbrt(2.0), 1e-14));
  CHECK_FALSE(bracketed_root([](double x) { return x * x + 1; }, -1, 1));
  CHECK(bracketed_root([](double x) { return x; }, 0, 1) == 0.0);
}
