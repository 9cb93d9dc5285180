// SPDX-License-Identifier: GPL-3.0-or-later
// Makes sessions for tests of the gauge's part of the fit, and writes out the gauge's covariances.
#pragma once

#include <string>
#include <vector>

#include "solve/gauge_problem.hpp"
#include "solve/joint_fit.hpp"
#include "support/dense_gauge.hpp"
#include "support/solve_session.hpp"

namespace gauge_example {

using namespace evenwall;
using namespace evenwall::internal::solve;

struct Example {
  std::vector<Observation> observations;
  SignalFit signal;
  GaugePriors priors;
};

/// A session with its own random rig, with gauge errors and occasionally a step that is logged wrong.
inline Example random_example(rig::Draw& draw, int steps) {
  const rig::Rig r = rig::random_rig(draw);
  const double gauge_deg = std::pow(10, draw.uniform(-3, -0.7));
  Session session;
  for (int i = 0; i < steps; ++i) {
    const double logged = std::round(10 * (-2.5 + 5.0 * i / (steps - 1))) / 10;
    const double wrong = draw.uniform(0, 1) < 0.1 ? draw.uniform(-1, 1) : 0;
    session.steps.push_back(rig::step(r, logged + gauge_deg * draw.normal() + wrong, logged, 1e-4, draw, i));
  }
  const JointFit joint = fit_jointly(session, {});
  Example e{joint.observations.fitted, joint.signal, joint.gauge};
  e.priors.signal_scales.clear();
  if (draw.uniform(0, 1) < 0.3) e.observations[1].gauge_u = 0.1;
  e.priors.in_degrees = draw.uniform(0, 1) < 0.7;
  return e;
}

/// Gives each pair of consecutive captures one common setting, and changes the order of the captures.
inline void repeat(Example& e) {
  for (std::size_t i = 0; i + 1 < e.observations.size(); i += 2) {
    e.observations[i + 1].logged = e.observations[i].logged;
    e.signal.psi_rad[static_cast<Eigen::Index>(i) + 1] = e.signal.psi_rad[static_cast<Eigen::Index>(i)] + radians(0.01);
  }
  for (std::size_t i = 0; i < e.observations.size(); ++i)
    e.observations[i].order = static_cast<double>((i / 2 * 3) % 7) + 0.1 * static_cast<double>(i % 2);
}

/// Covariance of the differences between true tilts and the log, entry by entry from the definition.
inline Eigen::MatrixXd written_out(const GaugeErrors& errors, const GaugeLine& line) {
  const CaptureOrder& order = line.order();
  const Eigen::Index n = line.size();
  Eigen::MatrixXd v = Eigen::MatrixXd::Zero(n, n);
  std::vector<Eigen::Index> place(static_cast<std::size_t>(n));
  for (Eigen::Index p = 0; p < n; ++p) place[static_cast<std::size_t>(order.observation[static_cast<std::size_t>(p)])] = p;
  for (Eigen::Index i = 0; i < n; ++i) {
    for (Eigen::Index k = 0; k < n; ++k) {
      const Eigen::Index p = place[static_cast<std::size_t>(i)], q = place[static_cast<std::size_t>(k)];
      const Eigen::Index a = order.setting[static_cast<std::size_t>(p)], b = order.setting[static_cast<std::size_t>(q)];
      if (i == k) v(i, k) += errors.lowering[i] * errors.lowering[i];
      if (a == b) v(i, k) += errors.setting[i] * errors.setting[k];
      v(i, k) += errors.walk * errors.walk * order.move.head(std::min(a, b) + 1).sum();
      v(i, k) += errors.backlash * errors.backlash * order.direction[p] * order.direction[q];
      v(i, k) += errors.drift * errors.drift * order.time[p] * order.time[q];
    }
  }
  return v;
}

inline OptionalNumber u_of(const std::optional<ScalePrior>& prior) { return prior ? OptionalNumber(prior->u) : std::nullopt; }

/// Largest difference between the account and the dense fit, in standard deviations of the dense fit. The account's covariance is divided
/// by `widened` first.
inline double apart(const TiltAccount& account, const dense::GaugeFit& fit, double widened = 1) {
  Eigen::VectorXd here(2 + kCommonSize), there(2 + kCommonSize);
  here << account.least_rad, account.scale, account.common;
  there << fit.theta, fit.common;
  const Eigen::VectorXd u = fit.joint.diagonal().cwiseSqrt();
  const double values = (here - there).cwiseQuotient(u).cwiseAbs().maxCoeff();
  const double spreads = (account.covariance / widened - fit.joint).cwiseQuotient(u * u.transpose()).cwiseAbs().maxCoeff();
  return std::max(values, spreads);
}

}  // namespace gauge_example
