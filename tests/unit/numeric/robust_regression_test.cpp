// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/robust_regression.hpp"

#include <Eigen/QR>

#include "support/catch.hpp"
#include "support/rig.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;
using C = std::complex<double>;

namespace {

constexpr Eigen::Index kFrames = 800;

struct Data {
  Eigen::VectorXcd reference{kFrames}, response{kFrames};
  Eigen::MatrixXd terms{kFrames, 3};
  Eigen::VectorXcd truth{3};
};

Data data(std::uint64_t seed, double sd) {
  rig::Draw draw(seed);
  Data d;
  d.truth << C(0.02, -0.01), C(0.003, 0.001), C(-0.002, 0.004);
  for (Eigen::Index f = 0; f < kFrames; ++f) {
    const double angle = 0.02 * static_cast<double>(f);
    d.terms.row(f) << 1, std::cos(angle), std::sin(angle);
    d.reference[f] = std::polar(draw.uniform(0.8, 1.2), draw.uniform(-3, 3));
    const C ratio = (d.terms.row(f).cast<C>() * d.truth)(0);
    d.response[f] = d.reference[f] * ratio + sd * C(draw.normal(), draw.normal());
  }
  return d;
}

}  // namespace

TEST_CASE("On clean data the fit differs from least squares only by the effect of a few down-weighted frames") {
  for (std::uint64_t seed = 1; seed <= 50; ++seed) {
    const Data d = data(seed, 1e-3);
    const auto fit = fit_robust(d.reference, d.response, d.terms, 20, Scatter::kComplex);
    const Eigen::MatrixXcd design = d.reference.asDiagonal() * d.terms.cast<C>();
    const Eigen::VectorXcd plain = design.colPivHouseholderQr().solve(d.response);
    INFO("seed " << seed);
    // The bisquare at 6 has an efficiency of 0.98: the two differ by sqrt(0.02) of the standard deviation 5e-5. The limit is 4 times that.
    CHECK(std::abs(fit.coefficients[0] - plain[0]) < 4 * 0.15 * 5e-5);
    CHECK(fit.rejected_fraction < 0.02);  // weights below ½ lie beyond 3.25 standard deviations: 0.5 % of 800, Poisson
  }
}

TEST_CASE("The stated covariance fits the scatter of the estimates") {
  double error2 = 0, stated2 = 0;
  const int runs = 400;
  for (std::uint64_t seed = 1; seed <= runs; ++seed) {
    const Data d = data(1000 + seed, 1e-3);
    const auto fit = fit_robust(d.reference, d.response, d.terms, 20, Scatter::kComplex);
    error2 += std::norm(fit.coefficients[0] - d.truth[0]) / runs;
    stated2 += fit.covariance.trace() / runs;
    CHECK(fit.degrees_of_freedom == 37);  // 40 blocks less 3 terms
  }
  // The mean of 800 squares of normal errors is known to sqrt(2/800) = 5 %. The limit is 3 times that.
  CHECK_THAT(stated2 / error2, WithinAbs(1.0, 0.15));
}

TEST_CASE("With few blocks the covariance has fewer degrees of freedom, and its magnitude remains correct") {
  double error2 = 0, stated2 = 0;
  const int runs = 400;
  for (std::uint64_t seed = 1; seed <= runs; ++seed) {
    const Data d = data(5000 + seed, 1e-3);
    const auto fit = fit_robust(d.reference, d.response, d.terms, 100, Scatter::kComplex);
    error2 += std::norm(fit.coefficients[0] - d.truth[0]) / runs;
    stated2 += fit.covariance.trace() / runs;
    CHECK(fit.degrees_of_freedom == 5);  // 8 blocks less 3 terms
  }
  INFO("seeds 5001 to 5400");
  // The errors are known to 5 %, as above. The stated variances, with 5 degrees of freedom twice over, are known from 400 runs to 2 %.
  // Without the factor 8/5 the result would be near 0.6.
  CHECK_THAT(stated2 / error2, WithinAbs(1.0, 0.25));
}

TEST_CASE("If clicks hit a fifth of the frames, the error of the fit remains within its noise") {
  for (std::uint64_t seed = 1; seed <= 50; ++seed) {
    Data d = data(seed, 1e-3);
    rig::Draw draw(seed + 77);
    for (Eigen::Index f = 0; f < kFrames; f += 5) d.response[f] += C(draw.normal(), draw.normal());
    const auto fit = fit_robust(d.reference, d.response, d.terms, 20, Scatter::kComplex);
    INFO("seed " << seed);
    CHECK(std::abs(fit.coefficients[0] - d.truth[0]) < 4 * 6e-5 * std::sqrt(2.0));
    CHECK(fit.rejected_fraction > 0.15);
  }
}

TEST_CASE("The median is correct for odd and even numbers of values") {
  CHECK(median({3, 1, 2}) == 2);
  CHECK(median({4, 1, 3, 2}) == 2.5);
  CHECK(median({5}) == 5);
}

TEST_CASE("With Huber's weights, the stated covariance fits the scatter of the estimates, whether it is complex or real") {
  RobustScheme huber;
  huber.huber_corner = 1.345;
  huber.huber_steps = 30;
  huber.bisquare_steps = 0;
  for (const Scatter scatter : {Scatter::kComplex, Scatter::kReal}) {
    double error2 = 0, stated2 = 0;
    const int runs = 400;
    for (std::uint64_t seed = 1; seed <= runs; ++seed) {
      rig::Draw draw(3000 + seed);
      Eigen::VectorXcd y(200);
      for (C& z : y) z = C(draw.normal(), scatter == Scatter::kComplex ? draw.normal() : 0.0);
      const auto fit = fit_robust(Eigen::VectorXcd::Ones(200), y, Eigen::MatrixXd::Ones(200, 1), 1, scatter, huber);
      error2 += std::norm(fit.coefficients[0]) / runs;
      stated2 += fit.covariance.trace() / runs;
    }
    INFO("seeds 3001 to 3400");
    CHECK_THAT(stated2 / error2, WithinAbs(1.0, scatter == Scatter::kComplex ? 0.15 : 0.22));  // 800 or 400 squares: three times 5 or 7 %
  }
}
