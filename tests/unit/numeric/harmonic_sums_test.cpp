// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/harmonic_sums.hpp"

#include "numeric/revolution.hpp"
#include "support/catch.hpp"
#include "support/rig.hpp"

using namespace evenwall::internal::numeric;

TEST_CASE("Products computed without the design matrix equal those computed with it") {
  rig::Draw draw(3);
  std::vector<double> times;
  Eigen::VectorXd weights(70);
  Eigen::VectorXcd values(70), coefficients(17);
  for (Eigen::Index i = 0; i < 70; ++i) {
    times.push_back(draw.uniform(10, 14));
    weights[i] = draw.uniform(0, 1);
    values[i] = {draw.normal(), draw.normal()};
  }
  for (Eigen::Index i = 0; i < 17; ++i) coefficients[i] = {draw.normal(), draw.normal()};
  const Eigen::MatrixXd x = revolution_terms(times, 12, 45, 8);
  const TurnPhasors phasors = turn_phasors(times, 12, 45);
  CHECK((harmonic_information(phasors, weights, 8) - x.transpose() * weights.asDiagonal() * x).cwiseAbs().maxCoeff() < 1e-12);
  CHECK((harmonic_pull(phasors, values, 8) - x.transpose() * values).cwiseAbs().maxCoeff() < 1e-12);
  CHECK((harmonic_values(phasors, coefficients) - x * coefficients).cwiseAbs().maxCoeff() < 1e-12);
}

TEST_CASE("Angles at several speeds, evenly spaced or not, equal those computed for each speed by itself") {
  const std::vector<double> times{10, 11.3, 14.9};
  for (const std::vector<double>& rpm : {std::vector<double>{33, 33.5, 34, 34.5}, std::vector<double>{33.3, 45, 78.26}}) {
    const auto all = turn_phasors(times, 12, rpm);
    REQUIRE(all.size() == rpm.size());
    for (std::size_t i = 0; i < rpm.size(); ++i) {
      const TurnPhasors one = turn_phasors(times, 12, rpm[i]);
      for (std::size_t f = 0; f < times.size(); ++f) CHECK(std::abs(all[i][f] - one[f]) < 1e-12);
    }
  }
}

TEST_CASE("Phasors at evenly spaced times equal exponentials computed directly") {
  const TurnPhasors even = even_turn_phasors(-3, 0.005, 3000, 100.0 / 3);
  for (const std::size_t f : {0U, 1U, 255U, 256U, 2999U}) {
    CHECK(std::abs(even[f] - std::polar(1.0, 2 * 3.14159265358979323846 / 1.8 * (-3 + 0.005 * static_cast<double>(f)))) < 1e-12);
  }
}
