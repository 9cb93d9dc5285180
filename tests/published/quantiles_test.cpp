// SPDX-License-Identifier: GPL-3.0-or-later
// Compares the distributions used for intervals and tests of significance with published tables.
#include "published/quantiles.hpp"

#include <numbers>

#include "numeric/distributions.hpp"
#include "published/gum_table_g2.hpp"
#include "solve/criteria.hpp"
#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;
using namespace evenwall::internal::solve;

TEST_CASE("Student's t equals R's and GSL's to 13 digits") {
  for (const auto& row : published::kStudent) {
    for (std::size_t k = 0; k < std::size(published::kStudentP); ++k) {
      INFO("nu " << row[0] << ", p " << published::kStudentP[k]);
      CHECK_THAT(student_quantile(published::kStudentP[k], row[0]), WithinRel(row[k + 1], 1e-13));  // 15 printed; two for rounding
      CHECK_THAT(student_cdf(row[k + 1], row[0]), WithinRel(published::kStudentP[k], 1e-13));
    }
  }
}

TEST_CASE("Chi-square equals R's and GSL's") {
  for (const auto& row : published::kChiSquare) {
    for (std::size_t k = 0; k < std::size(published::kChiSquareP); ++k) {
      INFO("nu " << row[0] << ", p " << published::kChiSquareP[k]);
      // The quantile's 15th digit changes the tail by up to nu·1e-15 of its value, with nu up to 1000.
      CHECK_THAT(chi_square_upper(row[k + 1], row[0]), WithinRel(1 - published::kChiSquareP[k], 1e-12));
    }
  }
}

TEST_CASE("Fisher's F equals R's and GSL's") {
  for (const auto& row : published::kFisher) {
    for (std::size_t k = 0; k < std::size(published::kFisherP); ++k) {
      INFO("nu " << row[0] << ", " << row[1] << ", p " << published::kFisherP[k]);
      CHECK_THAT(fisher_f_upper(row[k + 2], row[0], row[1]), WithinRel(1 - published::kFisherP[k], 1e-12));
    }
  }
}

TEST_CASE("The distributions equal their closed forms") {
  for (const double p : {0.6, 0.9, 0.975, 0.999}) {
    CHECK_THAT(student_quantile(p, 1), WithinRel(std::tan(std::numbers::pi * (p - 0.5)), 1e-13));
    const double q = 2 * p - 1;
    CHECK_THAT(student_quantile(p, 2), WithinRel(q * std::sqrt(2 / (1 - q * q)), 1e-13));
    CHECK_THAT(chi_square_upper(-2 * std::log(1 - p), 2), WithinRel(1 - p, 1e-13));
  }
}

TEST_CASE("Student's quantiles equal Table G.2 of the GUM to the printed digit, except for its one misprint") {
  // 68.27 and 99.73 % are one and three standard deviations exactly, 95.45 % two.
  const double holds[] = {std::erf(1 / std::sqrt(2.0)), 0.90, 0.95, std::erf(std::sqrt(2.0)), 0.99, std::erf(3 / std::sqrt(2.0))};
  int misprints = 0;
  for (const auto& row : published::kGumG2) {
    for (std::size_t k = 0; k < 6; ++k) {
      const double t = student_quantile(0.5 + 0.5 * holds[k], row[0]);
      const double half_digit = row[0] >= 100 ? 5.001e-4 : 5.001e-3;
      INFO("nu " << row[0] << ", column " << k << ": computed " << t << ", printed " << row[k + 1]);
      if (row[0] == 35 && k == 1) {
        // The table is WRONG here: it prints 1.70, but 1.6896 rounds to 1.69.
        CHECK_THAT(t, WithinAbs(1.6896, 5e-5));
        CHECK(std::abs(t - row[k + 1]) > half_digit);
        ++misprints;
        continue;
      }
      CHECK_THAT(t, WithinAbs(row[k + 1], half_digit));
    }
    if (std::isfinite(row[0])) CHECK_THAT(coverage_factor95(row[0]), WithinAbs(row[3], row[0] >= 100 ? 5.001e-4 : 5.001e-3));
  }
  CHECK(misprints == 1);
}
