// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/lean_priors.hpp"

#include <cmath>
#include <numbers>

#include "evenwall/units.hpp"
#include "measure/lean_constants.hpp"
#include "numeric/revolution.hpp"
#include "support/catch.hpp"
#include "support/rig.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

struct Drawn {
  Eigen::MatrixXd terms;
  Eigen::VectorXd data;  // with noise of standard deviation 1
  double truth = 0;
};

/// Rows over that many turns. The harmonics of the lean have the standard deviation size/k, in units of the noise of a row.
Drawn drawn(double turns, double size, rig::Draw& draw) {
  std::vector<double> times;
  for (int i = 0; i < 100; ++i) times.push_back(turns * (i + 0.5) / 100);
  Drawn d{internal::numeric::revolution_terms(times, 0.5 * turns, 60, kLeanHarmonics), {}, draw.normal()};
  Eigen::VectorXd coefficients(d.terms.cols());
  coefficients[0] = d.truth;
  for (Eigen::Index c = 1; c < coefficients.size(); ++c) coefficients[c] = size / static_cast<double>((c + 1) / 2) * draw.normal();
  d.data = d.terms * coefficients;
  for (Eigen::Index i = 0; i < 100; ++i) d.data[i] += draw.normal();
  return d;
}

}  // namespace

TEST_CASE("If the lean is as the prior assumes, the stated variance fits the errors") {
  // Each row has a noise of 0.02° and the lean is 0.1°, both in radians.
  const double row = radians(0.02);
  for (const double turns : {0.6, 2.5}) {
    rig::Draw draw(7);
    double squares = 0, stated = 0;
    for (int i = 0; i < 200; ++i) {
      const Drawn d = drawn(turns, radians(0.1) / row, draw);
      const Eigen::MatrixXd information = d.terms.transpose() * d.terms / (row * row);
      const SpeedAnswer answer = answer_along(information, d.terms.transpose() * d.data / row);
      squares += std::pow((answer.mean - d.truth * row) / row, 2) / 200;
      stated += (answer.noise_variance + answer.groove_variance) / (row * row) / 200;
      if (turns > 1) CHECK(answer.groove_variance < 0.5 * answer.noise_variance);
    }
    CAPTURE(turns, squares, stated);
    // The groove's variance is deliberately stated 1.4 times as large.
    CHECK(stated / squares > 0.8);
    CHECK(stated / squares < 2.2);
  }
}

TEST_CASE("Over whole turns, a record without lean has only the variance of its noise") {
  rig::Draw draw(8);
  const Drawn d = drawn(3, 0, draw);
  const double row = radians(0.02);
  const SpeedAnswer answer = answer_along(d.terms.transpose() * d.terms / (row * row), d.terms.transpose() * d.data / row);
  CHECK_THAT(std::sqrt(answer.noise_variance + answer.groove_variance) / row, WithinRel(0.1, 0.03));
  CHECK_THAT(answer.mean, WithinAbs(d.data.mean() * row, 0.02 * row));
}

TEST_CASE("Across the lean the groove's variance is small, and it is smaller if the direction of the lean is visible") {
  const Drawn d = [] {
    rig::Draw draw(9);
    return drawn(0.6, 0, draw);
  }();
  const double row = radians(0.02);
  const Eigen::MatrixXd information = d.terms.transpose() * d.terms / (row * row);
  const Eigen::VectorXd pull = d.terms.transpose() * d.data / row;
  const internal::numeric::HarmonicPrior along{radians(0.3), 1};
  const double seen = answer_across(information, pull, along, true).groove_variance;
  const double unseen = answer_across(information, pull, along, false).groove_variance;
  CHECK(seen < unseen);
  CHECK(unseen < radians(0.35 * 0.3) * radians(0.35 * 0.3) * kGrooveDoubt);
}
