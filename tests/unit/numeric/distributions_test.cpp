#include "numeric/distributions.hpp"

#include <cmath>

#include "support/catch.hpp"

using namespace evenwall;

TEST_CASE("Student and normal quantiles equal published ones") {
  // NIST/SEMATECH e-Handbook, section 1.3.6.7.2, critical values of Student's t at 0.975 (three decimals).
  CHECK_THAT(student_quantile(0.975, 1), WithinAbs(12.706, 5e-4));
  CHECK_THAT(student_quantile(0.975, 3), WithinAbs(3.182, 5e-4));
  CHECK_THAT(student_quantile(0.975, 10), WithinAbs(2.228, 5e-4));
  // 30 digits by mpmath, R and GSL agreeing: t.975(9).
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

TEST_CASE("A bracketed root is found to rounding, and none where there is none") {
  const auto root = bracketed_root([](double x) { return x * x * x - 2; }, 0, 3);
  REQUIRE(root);
  CHECK_THAT(*root, WithinAbs(std::cbrt(2.0), 1e-14));
  CHECK_FALSE(bracketed_root([](double x) { return x * x + 1; }, -1, 1));
  CHECK(bracketed_root([](double x) { return x; }, 0, 1) == 0.0);
}
