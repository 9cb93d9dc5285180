// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/harmonic_prior.hpp"

#include <cmath>
#include <numbers>

#include "numeric/revolution.hpp"
#include "support/catch.hpp"
#include "support/rig.hpp"

using namespace evenwall::internal::numeric;

namespace {

/// Normal equations of rows over `turns` turns with unit noise.
struct Rows {
  Eigen::MatrixXd terms;
  explicit Rows(double turns, int harmonics, int rows = 60) {
    std::vector<double> times;
    for (int i = 0; i < rows; ++i) times.push_back(turns * (i + 0.5) / rows);
    terms = revolution_terms(times, 0.5 * turns, 60, harmonics);
  }
  [[nodiscard]] Eigen::MatrixXd information() const { return terms.transpose() * terms; }
};

}  // namespace

TEST_CASE("Over whole turns, harmonics are orthogonal to the constant, which has the noise of a mean") {
  const Rows rows(3, 2);
  const Eigen::VectorXd data = 5 * rows.terms.col(0) + 3 * rows.terms.col(1) - 2 * rows.terms.col(4);
  const HarmonicAnswer answer = harmonic_answer(rows.information(), rows.terms.transpose() * data, {100, 1});
  CHECK_THAT(answer.coefficients[0], WithinAbs(5, 1e-9));
  CHECK_THAT(answer.coefficients[1], WithinAbs(3, 1e-4));  // the prior draws it to 0 by 1 part in 300,000
  CHECK_THAT(answer.noise_variance, WithinRel(1.0 / 60, 1e-9));
  CHECK(answer.prior_variance < 1e-12);
}

TEST_CASE("In a part of a turn, the constant and its variance are those of generalised least squares") {
  // The reference is generalised least squares for a constant, with the marginal covariance of the rows, C = 1 + T P Tᵀ.
  const Rows rows(0.4, 3);
  const HarmonicPrior prior{0.7, 1};
  Eigen::MatrixXd covariance = Eigen::MatrixXd::Identity(60, 60);
  for (Eigen::Index c = 1; c < rows.terms.cols(); ++c) {
    const double sd = 0.7 / static_cast<double>((c + 1) / 2);
    covariance += sd * sd * rows.terms.col(c) * rows.terms.col(c).transpose();
  }
  const Eigen::VectorXd ones = rows.terms.col(0);
  const Eigen::MatrixXd inverse = covariance.inverse();
  const double variance = 1 / ones.dot(inverse * ones);
  rig::Draw draw(4);
  Eigen::VectorXd data(60);
  for (Eigen::Index i = 0; i < 60; ++i) data[i] = 2 + draw.normal();
  const HarmonicAnswer answer = harmonic_answer(rows.information(), rows.terms.transpose() * data, prior);
  CHECK_THAT(answer.coefficients[0], WithinAbs(variance * ones.dot(inverse * data), 1e-9));
  CHECK_THAT(answer.noise_variance + answer.prior_variance, WithinRel(variance, 1e-9));
  CHECK_THAT(harmonic_covariance(rows.information(), prior)(0, 0), WithinRel(variance, 1e-9));
  CHECK(answer.prior_variance > answer.noise_variance);
}

TEST_CASE("Differences of the evidence equal those of the logarithmic density of the data") {
  const Rows rows(1.3, 2);
  rig::Draw draw(5);
  Eigen::VectorXd data(60);
  for (Eigen::Index i = 0; i < 60; ++i) data[i] = 1 + 0.8 * rows.terms(i, 1) + draw.normal();
  const auto evidence = [&](const HarmonicPrior& prior) {
    return harmonic_answer(rows.information(), rows.terms.transpose() * data, prior).log_evidence;
  };
  // The constant's prior is flat. In the density a normal prior with a standard deviation of a thousand takes its place.
  const auto density = [&](const HarmonicPrior& prior) {
    Eigen::MatrixXd covariance = Eigen::MatrixXd::Identity(60, 60) + 1e6 * rows.terms.col(0) * rows.terms.col(0).transpose();
    for (Eigen::Index c = 1; c < rows.terms.cols(); ++c) {
      const double sd = prior.size / std::pow(static_cast<double>((c + 1) / 2), prior.fall);
      covariance += sd * sd * rows.terms.col(c) * rows.terms.col(c).transpose();
    }
    const Eigen::LLT<Eigen::MatrixXd> factor(covariance);
    return -0.5 * data.dot(factor.solve(data)) - Eigen::MatrixXd(factor.matrixL()).diagonal().array().log().sum();
  };
  const HarmonicPrior small{0.05, 1}, large{1, 0.5};
  CHECK_THAT(evidence(large) - evidence(small), WithinAbs(density(large) - density(small), 1e-4));
}
