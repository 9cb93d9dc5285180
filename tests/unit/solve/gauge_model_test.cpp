// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/gauge_model.hpp"

#include <Eigen/LU>

#include "support/catch.hpp"
#include "support/gauge_example.hpp"
#include "support/rig.hpp"

using namespace gauge_example;

TEST_CASE("The linear fit equals generalised least squares computed directly") {
  rig::Draw draw(3);
  const std::vector<double> logged{-2, -0.5, 0, 1, 2.5};
  std::vector<Observation> observations(5);
  SignalFit signal;
  signal.psi_rad.resize(5);
  signal.common = Eigen::VectorXd::Zero(kCommonSize);
  signal.covariance = Eigen::MatrixXd::Zero(5 + kCommonSize, 5 + kCommonSize);
  Eigen::MatrixXd root = Eigen::MatrixXd::NullaryExpr(5 + kCommonSize, 5 + kCommonSize, [&] { return 1e-4 * draw.normal(); });
  signal.covariance = root * root.transpose();
  for (Eigen::Index i = 0; i < 5; ++i) {
    observations[static_cast<std::size_t>(i)].logged = logged[static_cast<std::size_t>(i)];
    signal.psi_rad[i] = radians(1.01 * logged[static_cast<std::size_t>(i)] - 0.7) + 1e-4 * draw.normal();
  }
  const Eigen::VectorXd u = Eigen::VectorXd::Constant(5, 3e-4);
  const GaugeFit fit = fit_gauge(observations, signal, u, 1.0, 0.02);

  Eigen::MatrixXd x(5, 2);
  for (Eigen::Index i = 0; i < 5; ++i) x.row(i) << -1, radians(logged[static_cast<std::size_t>(i)]);
  const Eigen::MatrixXd v = signal.covariance.top_left_corner(5, 5) + Eigen::MatrixXd((u.cwiseAbs2()).asDiagonal());
  Eigen::Matrix2d information = x.transpose() * v.inverse() * x;
  information(1, 1) += 1 / 0.0004;
  Eigen::Vector2d pull = x.transpose() * v.inverse() * signal.psi_rad;
  pull[1] += 1 / 0.0004;
  const Eigen::Vector2d theta = information.inverse() * pull;
  CHECK_THAT(fit.theta[0], WithinRel(theta[0], 1e-10));
  CHECK_THAT(fit.theta[1], WithinRel(theta[1], 1e-10));
  CHECK_THAT(fit.covariance(0, 0), WithinRel(information.inverse()(0, 0), 1e-10));

  // The log's information on the common unknowns equals conditioning the joint normal on it, which can only reduce their variances.
  TiltAccount account;
  join(signal, fit, account);
  for (int k = 0; k < kCommonSize; ++k) CHECK(account.covariance(2 + k, 2 + k) <= signal.covariance(5 + k, 5 + k) * (1 + 1e-12));
  CHECK(account.covariance.isApprox(account.covariance.transpose(), 1e-12));
}

TEST_CASE("Widening one or two settings gives the same result as a new fit, whatever the errors are") {
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    INFO("seed " << seed);
    rig::Draw draw(seed);
    Example e = random_example(draw, 4 + static_cast<int>(draw.uniform(0, 16)));
    e.observations[1].gauge_u.reset();  // captures of one setting have one spread
    if (seed % 2 == 0) repeat(e);
    GaugeProblem problem(e.observations, e.signal, e.priors);
    REQUIRE(problem.line().repeats() == (seed % 2 == 0));
    const auto prior = problem.scale_prior();
    GaugeErrors errors = problem.errors(radians(std::pow(10, draw.uniform(-4, -0.3))), seed % 4 == 0 ? radians(0.02) : 0.0);
    if (seed % 3 == 0) errors.walk = radians(0.03);
    if (seed % 5 == 0) errors.backlash = radians(0.15);
    if (seed % 7 == 0) errors.drift = radians(0.1);
    GaugeSystem system = problem.system(errors).with(prior);
    system.weigh_settings();
    const auto dense_of = [&](const GaugeErrors& all) {
      return dense::fit_gauge(e.observations, e.signal, written_out(all, problem.line()), e.priors.scale_centre, u_of(prior));
    };
    const dense::GaugeFit all = dense_of(errors);
    // The evidence has the rounding of the misfit, which may be 1e4 if a step is wrong and the gauge fine.
    CHECK_THAT(system.log_evidence(), WithinAbs(all.log_evidence, 1e-9 * (1 + all.misfit)));
    CHECK_THAT(system.misfit(), WithinAbs(all.misfit, 1e-9 * (1 + all.misfit)));
    for (Eigen::Index j = 0; j < problem.settings(); ++j) {
      for (const double wrong_rad : {kDropped_rad, kWrongSpread_rad}) {
        Widened widened{{j}, Eigen::VectorXd::Constant(1, wrong_rad * wrong_rad)};
        if (j > 0) widened = {{j, j - 1}, Eigen::VectorXd::Constant(2, wrong_rad * wrong_rad)};
        GaugeErrors changed = errors;
        for (const Eigen::Index s : widened.settings) {
          for (const std::size_t o : problem.line().observations_of(s)) {
            double& u = changed.setting[static_cast<Eigen::Index>(o)];
            u = std::hypot(u, wrong_rad);
          }
        }
        const dense::GaugeFit dense = dense_of(changed);
        CHECK_THAT(system.log_evidence_with(widened), WithinAbs(dense.log_evidence, 1e-7 * (1 + dense.misfit)));
        const GaugeFit fit = system.fit_with(widened);
        TiltAccount account;
        join(e.signal, fit, account);
        CHECK(apart(account, dense) < 1e-6);
        CHECK_THAT(fit.misfit, WithinAbs(dense.misfit, 1e-7 * (1 + dense.misfit)));
      }
    }
  }
}
