// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/gauge_model.hpp"

#include <cassert>
#include <cmath>

#include "numeric/linear_algebra.hpp"
#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

numeric::SequenceNoise noise_of(const CaptureOrder& order, const Eigen::VectorXd& own, const Eigen::VectorXd& setting, double walk) {
  Eigen::VectorXd each = Eigen::VectorXd::Zero(order.settings);
  for (std::size_t i = 0; i < order.setting.size(); ++i) {
    double& u = each[order.setting[i]];
    u = std::max(u, setting[static_cast<Eigen::Index>(i)]);
  }
  return {own, order.setting, each.cwiseAbs2(), walk * walk * order.move};
}

Eigen::Index extra_unknowns(const GaugeErrors& errors) { return (errors.backlash > 0 ? 1 : 0) + (errors.drift > 0 ? 1 : 0); }

}  // namespace

GaugeSystem::GaugeSystem(const GaugeLine& line, const GaugeErrors& errors)
    : line_(&line),
      errors_(errors),
      noise_(noise_of(line.order_,
                      line.own_ + line.in_order(errors.lowering).cwiseAbs2() + Eigen::VectorXd::Constant(line.size(), kLeastOwn_rad2),
                      line.in_order(errors.setting), errors.walk)),
      rows_(line.size(), line.design_.cols() + extra_unknowns(errors) + 1),
      triangle_(rows_.cols() - 1) {
  Eigen::Index column = line.design_.cols();
  rows_.leftCols(column) = line.design_;
  if (errors.backlash > 0) {
    rows_.col(column) = errors.backlash * line.order_.direction;
    for (Eigen::Index i = 0; i < line.size() && line.order_.setting[static_cast<std::size_t>(i)] == 0; ++i) {
      if (line.order_.direction[i] == 0) rows_(i, column) = errors.backlash * errors.first_direction;
    }
    ++column;
  }
  if (errors.drift > 0) rows_.col(column++) = errors.drift * line.order_.time;
  rows_.col(column) = line.rest_;
  noise_.whiten(rows_);
  // Rows are added in the order of the observations, so that the order of capture changes no bit if the errors are independent.
  for (const Eigen::Index i : line.order_.place) {
    triangle_.add(&rows_(i, 0), rows_(i, column), rows_.outerStride());
    log_variances_ += noise_.log_variance(i);
  }
  for (Eigen::Index c = 2; c < column; ++c) {
    const Eigen::VectorXd unit = Eigen::VectorXd::Unit(column, c);
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

double GaugeSystem::log_evidence() const {
  const double prior = prior_ ? -2 * std::log(prior_->u) : 0.0;
  return -0.5 * (log_variances_ + triangle_.log_determinant() + misfit()) + 0.5 * prior;
}

GaugeFit GaugeSystem::result(const Eigen::VectorXd& x, const Eigen::MatrixXd& joint, double misfit, double log_evidence) const {
  GaugeFit fit;
  fit.prior = prior_;
  fit.theta = line_->line_ + x.head<2>();
  fit.covariance = joint.topLeftCorner<2, 2>();
  // A cause that affects no tilt keeps its prior: 0 with variance 1. The values of backlash and drift are not used outside of this fit.
  const auto place = [&](Eigen::Index k) { return k < 2 ? k : 2 + line_->shown_causes_[static_cast<std::size_t>(k - 2)]; };
  fit.joint = Eigen::MatrixXd::Identity(2 + line_->causes_, 2 + line_->causes_);
  fit.causes = Eigen::VectorXd::Zero(line_->causes_);
  const Eigen::Index kept = line_->design_.cols();
  for (Eigen::Index k = 0; k < kept; ++k) {
    if (k >= 2) fit.causes[place(k) - 2] = x[k];
    for (Eigen::Index l = 0; l < kept; ++l) fit.joint(place(k), place(l)) = joint(k, l);
  }
  fit.misfit = misfit;
  fit.log_evidence = log_evidence;
  return fit;
}

GaugeFit GaugeSystem::fit() const {
  const Eigen::MatrixXd inverse = triangle_.inverse_root();
  return result(triangle_.coefficients(), numeric::times_transposed(inverse, inverse), misfit(), log_evidence());
}

void GaugeSystem::weigh_settings() {
  inverse_ = triangle_.inverse_root();
  x_ = triangle_.coefficients();
  log_determinant_ = triangle_.log_determinant();
  const Eigen::Index unknowns = triangle_.unknowns();
  const Eigen::MatrixXd design = rows_.leftCols(unknowns);
  const Eigen::MatrixXd turned = numeric::times(design, inverse_);
  const Eigen::VectorXd left = rows_.col(unknowns) - numeric::times_vector(design, x_);
  const Eigen::Index settings = line_->order().settings;
  marks_.clear();
  mark_of_.clear();
  taken_up_.resize(unknowns, settings);
  score_.resize(settings);
  for (Eigen::Index s = 0; s < settings; ++s) {
    const auto at = static_cast<Eigen::Index>(marks_.size());
    const Eigen::Index first = noise_.whitened_mark(s, marks_);
    mark_of_.push_back({first, static_cast<Eigen::Index>(marks_.size()) - at, at});
  }
  for (Eigen::Index s = 0; s < settings; ++s) {
    Mark& mark = mark_of_[static_cast<std::size_t>(s)];
    const auto ones = values(mark);
    for (Eigen::Index k = 0; k < unknowns; ++k) taken_up_(k, s) = turned.col(k).segment(mark.first, mark.length).dot(ones);
    score_[s] = left.segment(mark.first, mark.length).dot(ones);
    mark.square = ones.squaredNorm();
    mark.share = mark.square - taken_up_.col(s).squaredNorm();
  }
}

double GaugeSystem::share(Eigen::Index a, Eigen::Index b) const {
  const Mark& one = mark_of_[static_cast<std::size_t>(a)];
  const Mark& other = mark_of_[static_cast<std::size_t>(b)];
  const Eigen::Index first = std::max(one.first, other.first);
  const Eigen::Index length = std::min(one.first + one.length, other.first + other.length) - first;
  const double both =
      length > 0 ? values(one).segment(first - one.first, length).dot(values(other).segment(first - other.first, length)) : 0.0;
  return both - taken_up_.col(a).dot(taken_up_.col(b));
}

/// Effect of wider settings: E(I + SE)⁻¹, their scores, and the resulting misfit and log evidence. Thousands are computed in a fit, and
/// none of them needs memory of its own.
struct GaugeSystem::Change {
  static constexpr int kMost = 2;  // settings
  Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::ColMajor, kMost, kMost> pull;
  Eigen::Matrix<double, Eigen::Dynamic, 1, Eigen::ColMajor, kMost, 1> score;
  double misfit = 0, log_evidence = 0;
  bool poor = false;  ///< too few significant digits are left
};

GaugeSystem::Change GaugeSystem::change(const Widened& widened) const {
  const auto k = static_cast<Eigen::Index>(widened.settings.size());
  assert(k == 1 || k == Change::kMost);
  Change c;
  c.score.resize(k);
  c.pull.resize(k, k);
  for (Eigen::Index i = 0; i < k; ++i) {
    const Eigen::Index s = widened.settings[static_cast<std::size_t>(i)];
    const Mark& mark = mark_of_[static_cast<std::size_t>(s)];
    c.score[i] = score_[s];
    c.poor |= !(mark.share > kLeastWeightLeft * mark.square) || !(1 + widened.by[i] * mark.share > kLeastWeightLeft);
  }
  const auto share_of = [&](std::size_t i) { return mark_of_[static_cast<std::size_t>(widened.settings[i])].share; };
  double determinant = 1 + share_of(0) * widened.by[0];
  double fall = 0;  // of the misfit
  if (k == 1) {
    c.pull(0, 0) = widened.by[0] / determinant;
    fall = c.score[0] * c.pull(0, 0) * c.score[0];
  } else {
    const double both = share(widened.settings[0], widened.settings[1]);
    const double first = determinant, second = 1 + share_of(1) * widened.by[1];
    determinant = first * second - both * widened.by[0] * both * widened.by[1];
    c.pull(0, 0) = widened.by[0] * second / determinant;
    c.pull(1, 1) = widened.by[1] * first / determinant;
    c.pull(0, 1) = c.pull(1, 0) = -widened.by[0] * both * widened.by[1] / determinant;
    fall = c.score[0] * c.pull(0, 0) * c.score[0] + 2 * c.score[0] * c.pull(0, 1) * c.score[1] + c.score[1] * c.pull(1, 1) * c.score[1];
  }
  c.misfit = misfit() - fall;
  c.poor |= !(c.misfit > kLeastMisfit * misfit());
  const double prior = prior_ ? -2 * std::log(prior_->u) : 0.0;
  c.log_evidence = -0.5 * (log_variances_ + log_determinant_ + std::log(determinant) + c.misfit) + 0.5 * prior;
  return c;
}

GaugeSystem GaugeSystem::refitted(const Widened& widened) const {
  GaugeErrors errors = errors_;
  for (std::size_t i = 0; i < widened.settings.size(); ++i) {
    for (const std::size_t o : line_->observations_of(widened.settings[i])) {
      double& u = errors.setting[static_cast<Eigen::Index>(o)];
      u = std::sqrt(std::max(0.0, u * u + widened.by[static_cast<Eigen::Index>(i)]));
    }
  }
  return GaugeSystem(*line_, errors).with(prior_);
}

double GaugeSystem::log_evidence_with(const Widened& widened) const {
  const Change c = change(widened);
  return c.poor ? refitted(widened).log_evidence() : c.log_evidence;
}

GaugeFit GaugeSystem::fit_with(const Widened& widened) const {
  const Change c = change(widened);
  if (c.poor) return refitted(widened).fit();
  Eigen::MatrixXd moved(inverse_.rows(), static_cast<Eigen::Index>(widened.settings.size()));
  for (Eigen::Index i = 0; i < moved.cols(); ++i) {
    moved.col(i) = numeric::times_vector(inverse_, taken_up_.col(widened.settings[static_cast<std::size_t>(i)]));
  }
  const Eigen::MatrixXd pull = c.pull;
  const Eigen::MatrixXd joint = numeric::times_transposed(inverse_, inverse_) + numeric::congruent(moved, pull);
  return result(x_ - numeric::times_vector(moved, numeric::times_vector(pull, c.score)), joint, c.misfit, c.log_evidence);
}

GaugeFit fit_gauge(const std::vector<Observation>& observations, const SignalFit& signal, const Eigen::VectorXd& u_rad, double scale_centre,
                   OptionalNumber u_scale) {
  const GaugeLine line(observations, signal);
  const auto prior = u_scale ? std::optional(ScalePrior{scale_centre, *u_scale}) : std::nullopt;
  return GaugeSystem(line, {u_rad, Eigen::VectorXd::Zero(u_rad.size())}).with(prior).fit();
}

void join(const SignalFit& signal, const GaugeFit& fit, TiltAccount& account) {
  const Eigen::MatrixXd root = signal.covariance.root().bottomRows(kCommonSize);
  Eigen::MatrixXd onto = Eigen::MatrixXd::Zero(2 + kCommonSize, 2 + root.cols());
  onto.topLeftCorner<2, 2>().setIdentity();
  onto.bottomRightCorner(kCommonSize, root.cols()) = root;
  account.scale_prior = fit.prior;
  account.scale_prior_used = fit.prior.has_value();
  account.least_rad = fit.theta[0];
  account.scale = fit.theta[1];
  account.common = signal.common + numeric::times_vector(root, fit.causes);
  account.covariance = numeric::congruent(onto, fit.joint);
  account.known_covariance = Eigen::MatrixXd::Zero(2 + kCommonSize, 2 + kCommonSize);
  account.signal_covariance = signal.covariance.bottom_right_corner(kCommonSize);
}

}  // namespace evenwall::internal::solve
