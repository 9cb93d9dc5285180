// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/revolution.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;

TEST_CASE("The length of a passage determines its number of harmonics and its degrees of freedom") {
  CHECK(revolution_harmonics(0.9) == 0);
  CHECK(revolution_harmonics(1.5) == 1);
  CHECK(revolution_harmonics(2.5) == 2);
  // 5.4 s at 33⅓ rpm are three revolutions: 43 blocks less five terms.
  CHECK(sweep_degrees_of_freedom(5.4, 100.0 / 3) == 38);
  CHECK(sweep_degrees_of_freedom(0.3, 100.0 / 3) == 6);
  CHECK(noise_harmonics(1.5) == 1);
  CHECK(noise_harmonics(2.5) == 4);
  CHECK(noise_harmonics(3.0) == 8);
  CHECK(noise_degrees_of_freedom(5.4, 100.0 / 3) == 20);  // 43 blocks less 17 terms of the turn and 6 of the course
  CHECK(noise_degrees_of_freedom(4.5, 100.0 / 3) == 21);  // 36 blocks less 9 and 6 terms
  CHECK(tone_degrees_of_freedom(4.5) == 72);
  CHECK(tone_degrees_of_freedom(0.5) == 10);
}

TEST_CASE("A row has a constant and the cosine and sine of each harmonic, with time counted from the middle") {
  // At 33⅓ rpm one turn takes 1.8 s. A quarter turn after the middle the first harmonic is (0, 1) and the second is (−1, 0).
  const Eigen::MatrixXd terms = revolution_terms({2.0, 2.45, 2.9}, 2.0, 100.0 / 3, 2);
  Eigen::MatrixXd expected(3, 5);
  expected << 1, 1, 0, 1, 0,  //
      1, 0, 1, -1, 0,         //
      1, -1, 0, 1, 0;
  CHECK((terms - expected).cwiseAbs().maxCoeff() < 1e-12);
}

TEST_CASE("The harmonics of noise bands enlarge the variance of the constant by less than 5 %") {
  for (double revolutions = 2.0; revolutions < 8; revolutions += 0.05) {
    std::vector<double> times_s;
    for (double t = 0; t < 1.8 * revolutions; t += 0.0427) times_s.push_back(t);
    const Eigen::MatrixXd terms = revolution_terms(times_s, 0.9 * revolutions, 100.0 / 3, noise_harmonics(revolutions));
    const Eigen::MatrixXd information = terms.transpose() * terms;
    const double variance = information.ldlt().solve(Eigen::VectorXd::Unit(terms.cols(), 0))[0] * static_cast<double>(times_s.size());
    INFO(revolutions);
    CHECK(variance < (revolutions < 3 ? 1.045 : 1.025));  // 1 without harmonics
  }
}
