// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/gauge_model.hpp"

#include <cmath>

#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
GaugeLine::GaugeLine(const std::vector<Observation>& observations, const SignalFit& signal)
    : rest_(signal.psi_rad), line_(Eigen::Vector2d::Zero()), own_(signal.covariance.own().head(signal.psi_rad.size())) {
  const Eigen::Index n = signal.psi_rad.size();
  const auto shared = signal.covariance.root().topRows(n);
  causes_ = shared.cols();
  for (Eigen::Index c = 0; c < causes_; ++c) {
    if ((shared.col(c).array() != 0).any()) told_causes_.push_back(c);
  }
  design_.resize(n, 2 + static_cast<Eigen::Index>(told_causes_.size()));
  design_.col(0).setConstant(-1);
  for (Eigen::Index i = 0; i < n; ++i) design_(i, 1) = radians(observations[static_cast<std::size_t>(i)].logged);
  // True tilts are the signal's plus the causes': what the log explains is the signal's alone.
  for (std::size_t c = 0; c < told_causes_.size(); ++c) design_.col(2 + static_cast<Eigen::Index>(c)) = -shared.col(told_causes_[c]);
  straighten();
}

void GaugeLine::straighten() {
  const Eigen::VectorXd tilts = rest_;
  const double range = design_.col(1).maxCoeff() - design_.col(1).minCoeff();
  const bool sloped = range > kLeastRange * design_.col(1).cwiseAbs().maxCoeff();
  for (int round = 0; round < 2; ++round) {
    numeric::TriangularFit fit(sloped ? 2 : 1);
    for (Eigen::Index i = 0; i < size(); ++i) fit.add(&design_(i, 0), rest_[i], design_.outerStride());
    fit.finish();
    line_.head(fit.unknowns()) += fit.coefficients();
    for (Eigen::Index i = 0; i < size(); ++i) {
      rest_[i] = static_cast<double>(static_cast<long double>(tilts[i]) + static_cast<long double>(line_[0]) -
                                     static_cast<long double>(line_[1]) * static_cast<long double>(design_(i, 1)));
    }
  }
}

GaugeSystem::GaugeSystem(const GaugeLine& line, const Eigen::VectorXd& u_rad)
    : line_(&line), u_rad_(u_rad), variance_(line.own_ + u_rad.cwiseAbs2()), triangle_(line.design_.cols()) {
  log_variances_ = variance_.array().log().sum();
  const Eigen::VectorXd whiten = variance_.cwiseSqrt().cwiseInverse();
  const Eigen::MatrixXd design = whiten.asDiagonal() * line.design_;
  for (Eigen::Index i = 0; i < line.size(); ++i) triangle_.add(&design(i, 0), whiten[i] * line.rest_[i], design.outerStride());
  for (Eigen::Index c = 2; c < design.cols(); ++c) {
    const Eigen::VectorXd unit = Eigen::VectorXd::Unit(design.cols(), c);
    triangle_.add(unit.data(), 0);
  }
  triangle_.finish();
}

GaugeSystem GaugeSystem::with(const std::optional<ScalePrior>& prior) const {
  GaugeSystem more = *this;
  if (!prior) return more;
  const Eigen::VectorXd row = Eigen::VectorXd::Unit(triangle_.unknowns(), 1) / prior->u;
  more.triangle_.add(row.data(), (prior->centre - line_->line_[1]) / prior->u);
  more.triangle_.finish();
  more.prior_ = prior;
  return more;
}

double GaugeSystem::log_evidence() const { return -0.5 * (log_variances_ + triangle_.log_determinant() + misfit()); }

GaugeFit GaugeSystem::result(const Eigen::VectorXd& x, const Eigen::MatrixXd& joint, double misfit, double log_evidence) const {
  GaugeFit fit;
  fit.theta = line_->line_ + x.head<2>();
  fit.covariance = joint.topLeftCorner<2, 2>();
  // A cause that no tilt shows is as it was: 0 with variance 1.
  const auto place = [&](Eigen::Index k) { return k < 2 ? k : 2 + line_->told_causes_[static_cast<std::size_t>(k - 2)]; };
  fit.joint = Eigen::MatrixXd::Identity(2 + line_->causes_, 2 + line_->causes_);
  fit.causes = Eigen::VectorXd::Zero(line_->causes_);
  for (Eigen::Index k = 0; k < x.size(); ++k) {
    if (k >= 2) fit.causes[place(k) - 2] = x[k];
    for (Eigen::Index l = 0; l < x.size(); ++l) fit.joint(place(k), place(l)) = joint(k, l);
  }
  fit.misfit = misfit;
  fit.log_evidence = log_evidence;
  return fit;
}

GaugeFit GaugeSystem::fit() const {
  const Eigen::MatrixXd inverse = triangle_.inverse_root();
  return result(triangle_.coefficients(), inverse * inverse.transpose(), misfit(), log_evidence());
}

Eigen::MatrixXd GaugeSystem::whitened() const { return variance_.cwiseSqrt().cwiseInverse().asDiagonal() * line_->design_; }

void GaugeSystem::weigh_steps() {
  inverse_ = triangle_.inverse_root();
  x_ = triangle_.coefficients();
  const Eigen::MatrixXd design = whitened();
  turned_.noalias() = design * inverse_;
  share_ = turned_.rowwise().squaredNorm();
  log_determinant_ = triangle_.log_determinant();
  residual_ = line_->rest_.cwiseQuotient(variance_.cwiseSqrt()) - design * x_;
}

/// What another spread of one setting does: `lost` of its weight, `left` of the whole, and what follows.
struct GaugeSystem::Change {
  double lost, left, misfit, log_evidence;
  bool poor;
};

GaugeSystem::Change GaugeSystem::change(Eigen::Index j, double u_rad) const {
  const double variance = line_->own_[j] + u_rad * u_rad;
  Change c{1 - variance_[j] / variance, 0, 0, 0, false};
  c.left = 1 - c.lost * share_[j];
  c.misfit = misfit() - c.lost * residual_[j] * residual_[j] / c.left;
  c.poor = !(c.left > kLeastWeightLeft && c.misfit > kLeastMisfit * misfit());
  c.log_evidence = -0.5 * (log_variances_ + log_determinant_ + std::log(variance / variance_[j] * c.left) + c.misfit);
  return c;
}

GaugeSystem GaugeSystem::refitted(Eigen::Index j, double u_rad) const {
  Eigen::VectorXd u = u_rad_;
  u[j] = u_rad;
  return GaugeSystem(*line_, u).with(prior_);
}

double GaugeSystem::log_evidence_with(Eigen::Index j, double u_rad) const {
  const Change c = change(j, u_rad);
  return c.poor ? refitted(j, u_rad).log_evidence() : c.log_evidence;
}

GaugeFit GaugeSystem::fit_with(Eigen::Index j, double u_rad) const {
  const Change c = change(j, u_rad);
  if (c.poor) return refitted(j, u_rad).fit();
  const Eigen::VectorXd moved = inverse_ * turned_.row(j).transpose();
  const Eigen::MatrixXd joint = inverse_ * inverse_.transpose() + c.lost / c.left * moved * moved.transpose();
  return result(x_ - c.lost * residual_[j] / c.left * moved, joint, c.misfit, c.log_evidence);
}

GaugeFit fit_gauge(const std::vector<Observation>& observations, const SignalFit& signal, const Eigen::VectorXd& u_rad, double scale_centre,
                   OptionalNumber u_scale) {
  const GaugeLine line(observations, signal);
  const auto prior = u_scale ? std::optional(ScalePrior{scale_centre, *u_scale}) : std::nullopt;
  return GaugeSystem(line, u_rad).with(prior).fit();
}

void join(const SignalFit& signal, const GaugeFit& fit, TiltAccount& account) {
  const auto root = signal.covariance.root().bottomRows(kCommonSize);
  Eigen::MatrixXd onto = Eigen::MatrixXd::Zero(2 + kCommonSize, 2 + root.cols());
  onto.topLeftCorner<2, 2>().setIdentity();
  onto.bottomRightCorner(kCommonSize, root.cols()) = root;
  account.least_rad = fit.theta[0];
  account.scale = fit.theta[1];
  account.common = signal.common + root * fit.causes;
  account.covariance = onto * fit.joint * onto.transpose();
  account.known_covariance = Eigen::MatrixXd::Zero(2 + kCommonSize, 2 + kCommonSize);
  account.signal_covariance = signal.covariance.bottom_right_corner(kCommonSize);
}

}  // namespace evenwall::internal::solve
