// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/signal_fit.hpp"

#include "support/catch.hpp"
#include "support/dense_signal_fit.hpp"
#include "support/rig.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

constexpr double kU = 1e-7;  // of a ratio: negligible, so that only the model's own error remains

Observation observation(const rig::Rig& r, double tilt_deg, std::size_t index) {
  const auto from_left = rig::outputs(r, tilt_deg, true);
  const auto from_right = rig::outputs(r, tilt_deg, false);
  Observation o;
  o.step = index;
  o.logged = tilt_deg;
  o.right_into_left = from_right.left / from_right.right;
  o.left_into_right = from_left.right / from_left.left;
  o.right_into_left_covariance = o.left_into_right_covariance = kU * kU * Eigen::Matrix2d::Identity();
  o.right_degrees_of_freedom = o.left_degrees_of_freedom = 1000;
  return o;
}

}  // namespace

TEST_CASE("The response fits any complex generator, gains, electronics and cut without bias") {
  for (std::uint64_t seed = 1; seed <= 300; ++seed) {
    rig::Draw draw(seed);
    rig::Rig r = rig::random_rig(draw);
    r.electronics_rl = std::polar(draw.uniform(0, 0.03), draw.uniform(-3, 3));
    r.electronics_lr = std::polar(draw.uniform(0, 0.03), draw.uniform(-3, 3));
    std::vector<Observation> all;
    for (int i = 0; i < 5; ++i) all.push_back(observation(r, -2.0 + i, static_cast<std::size_t>(i)));
    const SignalFit fit = fit_signal(all, {0, 0.035, 0});
    INFO("seed " << seed);
    // The geometry alone gives the tilts relative to each other: they are exact to noise over curvature.
    for (int i = 1; i < 5; ++i) {
      const double turned_deg = degrees(fit.psi_rad[i] - fit.psi_rad[0]);
      CHECK_THAT(turned_deg, WithinAbs(i, 2e-4));  // noise of 1e-7, over a bend that is known to about 1e-6 rad with it
    }
    const auto predicted = predicted_ratios(fit.psi_rad[2], fit.common);
    CHECK(std::abs(predicted.right_into_left - all[2].right_into_left) < 1e-6);
    CHECK(std::abs(predicted.left_into_right - all[2].left_into_right) < 1e-6);
  }
}

TEST_CASE("Slopes of the response agree with differences") {
  const ResponseShape shape{0.02, -0.01, 0.004, -0.007};
  const double h = 1e-6;
  const auto at = response_at(0.03, shape);
  const auto up = response_at(0.03 + h, shape);
  const auto down = response_at(0.03 - h, shape);
  const auto slope = (up.left_from_right.value - down.left_from_right.value) / (2 * h);
  CHECK(std::abs(slope - at.left_from_right.slope[0]) < 1e-9);  // central differences: h² ~ 1e-12, rounding 1e-10
  ResponseShape turned = shape;
  turned.quadrature_right += h;
  const auto moved = (response_at(0.03, turned).right_from_right.value - at.right_from_right.value) / h;
  CHECK(std::abs(moved - at.right_from_right.slope[4]) < 1e-8);
}

TEST_CASE("A signal fit that eliminates step by step equals the dense fit") {
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    INFO("seed " << seed);
    rig::Draw draw(seed);
    const rig::Rig r = rig::random_rig(draw);
    const int steps = 2 + static_cast<int>(draw.uniform(0, 8));
    std::vector<Observation> all;
    for (int i = 0; i < steps; ++i) {
      Observation o = observation(r, -2.5 + 5.0 * i / (steps - 1), static_cast<std::size_t>(i));
      const double u = std::pow(10, draw.uniform(-5, -3));
      o.right_into_left += u * Complex(draw.normal(), draw.normal());
      o.left_into_right += u * Complex(draw.normal(), draw.normal());
      o.right_into_left_covariance << u * u, 0.4 * u * u, 0.4 * u * u, 2 * u * u;
      o.left_into_right_covariance << 2 * u * u, -0.3 * u * u, -0.3 * u * u, u * u;
      o.right_degrees_of_freedom = o.left_degrees_of_freedom = draw.uniform(6, 100);
      if (draw.uniform(0, 1) < 0.7) {
        o.ln_level_ratio = std::log(std::abs(r.gain_left)) + 0.01 * draw.normal();
        o.u_ln_level_ratio = 0.01;
      }
      if (draw.uniform(0, 1) < 0.5) o.interchannel_phase_rad = std::arg(r.gain_left) + 1e-3 * draw.normal();
      o.vertical = draw.uniform(0, 1) < 0.2;
      all.push_back(o);
    }
    const GainPriors priors{0.01, 0.035, 0};
    const SignalFit fit = fit_signal(all, priors);
    // The spread of the bend comes from the start of the fit. Its χ² shows that spread, because the prior of the bend is a row of its own.
    Eigen::VectorXd unknowns(steps + kCommonSize);
    unknowns << fit.psi_rad, fit.common;
    const double without = dense::signal_residuals(all, priors, 1e9, unknowns).squaredNorm();
    const double bend = fit.chi2 - without;
    if (bend < 1e-6) continue;  // too small to determine the spread
    const double spread = std::abs(fit.common[kBend]) / std::sqrt(bend);
    Eigen::VectorXd dense_unknowns = unknowns + Eigen::VectorXd::NullaryExpr(unknowns.size(), [&] { return 1e-5 * draw.normal(); });
    const dense::LeastSquaresFit dense = dense::descend_signal(all, priors, spread, dense_unknowns);
    const Eigen::VectorXd u = dense.covariance.diagonal().cwiseSqrt();
    // In units of standard deviations: the difference above determines the spread to about 1e-8.
    CHECK((dense_unknowns - unknowns).cwiseQuotient(u).cwiseAbs().maxCoeff() < 1e-6);
    const Eigen::MatrixXd covariance = fit.covariance.top_left_corner(u.size(), u.size());
    CHECK((covariance - dense.covariance).cwiseQuotient(u * u.transpose()).cwiseAbs().maxCoeff() < 1e-6);  // slopes by differences
    CHECK_THAT(fit.chi2, WithinRel(dense.sum_of_squares, 1e-8));
    // A fit that starts from the answer finds it again.
    const SignalFit again = fit_signal(all, priors, &fit);
    CHECK((again.psi_rad - fit.psi_rad).cwiseAbs().maxCoeff() < 1e-12);
    CHECK((again.common - fit.common).cwiseAbs().maxCoeff() < 1e-12);
  }
}
