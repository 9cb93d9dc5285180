// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/smooth_curve.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

#include "numeric/linear_algebra.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall::internal::numeric {
namespace {

constexpr double kMedianOverSd = 1.17741;  // of |e| over the standard deviation of one part, e complex normal
constexpr double kBisquareCut = 6.0;       // as in fit_robust
constexpr double kAbsoluteFloor = 0.3;
constexpr int kAbsoluteSteps = 6;
constexpr int kBisquareSteps = 8;
constexpr Eigen::Index kScaleRows = 30;  // on each side: a record's noise keeps its level over half a second
constexpr int kBendsTried = 40;
constexpr int kLocalSteps = 40;
constexpr double kBendFreedom = 1.0;     // degrees of freedom of the bends' distribution: one bend may be a hundred times the others
constexpr Eigen::Index kNeighbours = 6;  // rows that may be correlated: overlap of windows, noise colour
constexpr double kLeastResidual = 1e-7;  // of the reference: no ratio is known better than −140 dB

/// Robust standard deviation of one part of the residuals around each row.
Eigen::VectorXd local_scale(const Eigen::VectorXd& sizes, double least) {
  const Eigen::Index rows = sizes.size();
  Eigen::VectorXd scale(rows);
  std::vector<double> near;
  for (Eigen::Index f = 0; f < rows; ++f) {
    const Eigen::Index first = std::clamp<Eigen::Index>(f - kScaleRows, 0, std::max<Eigen::Index>(0, rows - 2 * kScaleRows - 1));
    const Eigen::Index last = std::min(rows, first + 2 * kScaleRows + 1);
    near.assign(sizes.data() + first, sizes.data() + last);
    scale[f] = std::max(median(near) / kMedianOverSd, least);
  }
  return scale;
}

class Fit {
 public:
  Fit(const Eigen::VectorXd& reference, const Eigen::VectorXcd& response, const Eigen::MatrixXd& regressors, Eigen::Index splines,
      const CurvePriors& priors)
      : rows_(scaled_rows(reference, regressors)), response_(response), splines_(splines), priors_(priors) {
    Eigen::MatrixXd second = Eigen::MatrixXd::Zero(splines - 2, splines);
    for (Eigen::Index i = 0; i + 2 < splines; ++i) second(i, i) = 1.0, second(i, i + 1) = -2.0, second(i, i + 2) = 1.0;
    second_ = second;
    stiffness_ = Eigen::VectorXd::Ones(splines - 2);
    weights_ = Eigen::VectorXd::Ones(reference.size());
    least_scale_ = std::max(kLeastResidual * reference.mean(), std::numeric_limits<double>::min());
    scale_ = Eigen::VectorXd::Constant(reference.size(), std::max(response.cwiseAbs().mean(), least_scale_));
  }

  CurveFit run() {
    solve(priors_.largest_bend);
    for (int i = 0; i < kAbsoluteSteps; ++i) {
      rescale();
      for (Eigen::Index f = 0; f < weights_.size(); ++f) weights_[f] = 1.0 / std::max(size(f), kAbsoluteFloor);
      solve(priors_.largest_bend);
    }
    double bend = priors_.largest_bend;
    for (int i = 0; i < kBisquareSteps; ++i) {
      rescale();
      weigh_bisquare();
      // The bend is estimated when the weights of the bisquare have settled on the most flexible curve.
      if (i + 2 == kBisquareSteps) bend = with_local_bends(likeliest_bend());
      solve(bend);
    }
    return result(bend);
  }

 private:
  [[nodiscard]] double size(Eigen::Index f) const { return std::abs(residuals_[f]) / scale_[f]; }

  void rescale() { scale_ = local_scale(residuals_.cwiseAbs(), least_scale_); }

  void weigh_bisquare() {
    for (Eigen::Index f = 0; f < weights_.size(); ++f) {
      const double v2 = std::pow(size(f) / kBisquareCut, 2);
      weights_[f] = v2 < 1 ? (1 - v2) * (1 - v2) : 0;
    }
  }

  [[nodiscard]] Eigen::VectorXd row_weights() const { return weights_.cwiseQuotient(scale_.cwiseAbs2()); }

  [[nodiscard]] Eigen::MatrixXd prior_precision(double bend) const {
    Eigen::MatrixXd p = Eigen::MatrixXd::Zero(rows_.cols(), rows_.cols());
    p.topLeftCorner(splines_, splines_) = weighted_square(second_, stiffness_ / (bend * bend));
    for (Eigen::Index k = splines_; k < rows_.cols(); ++k) p(k, k) = 1.0 / (priors_.term_sd * priors_.term_sd);
    return p;
  }

  void gather() {
    const Eigen::VectorXd w = row_weights();
    normal_ = weighted_square(rows_, w);
    const Eigen::VectorXd re = transposed_times_vector(rows_, w.cwiseProduct(response_.real()));
    const Eigen::VectorXd im = transposed_times_vector(rows_, w.cwiseProduct(response_.imag()));
    pull_.resize(re.size());
    for (Eigen::Index k = 0; k < pull_.size(); ++k) pull_[k] = {re[k], im[k]};
    power_ = (w.array() * response_.array().abs2()).sum();
  }

  void solve(double bend) {
    gather();
    coefficients_ = PivotedFactor(normal_ + prior_precision(bend)).solve(pull_);
    const Eigen::VectorXd re = times_vector(rows_, coefficients_.real()), im = times_vector(rows_, coefficients_.imag());
    residuals_.resize(re.size());
    for (Eigen::Index f = 0; f < residuals_.size(); ++f) residuals_[f] = response_[f] - std::complex<double>(re[f], im[f]);
  }

  /// −2 ln of the restricted likelihood of a bend, without constants; real and imaginary parts have the same bend.
  [[nodiscard]] double badness(double bend) const {
    const PivotedFactor factor(normal_ + prior_precision(bend));
    const Eigen::VectorXcd c = factor.solve(pull_);
    const double misfit = power_ - c.dot(pull_).real();
    const double spread = factor.pivots().array().max(std::numeric_limits<double>::min()).log().sum();
    return misfit + 2.0 * (spread + static_cast<double>(splines_ - 2) * 2.0 * std::log(bend));
  }

  [[nodiscard]] double likeliest_bend() {
    gather();
    double best = priors_.least_bend;
    double least = std::numeric_limits<double>::infinity();
    const double ratio = priors_.largest_bend / priors_.least_bend;
    for (int i = 0; i <= kBendsTried; ++i) {
      const double bend = priors_.least_bend * std::pow(ratio, static_cast<double>(i) / kBendsTried);
      const double b = badness(bend);
      if (b < least) {
        least = b;
        best = bend;
      }
    }
    return best;
  }

  /// Lets single bends be large: second differences are Student's t rather than normal (expectation–maximisation), so that a resonance
  /// bends the curve only near its own frequency and the rest stays stiff. Returns the typical bend.
  double with_local_bends(double bend) {
    for (int i = 0; i < kLocalSteps; ++i) {
      const PivotedFactor factor(normal_ + prior_precision(bend));
      const Eigen::VectorXcd c = factor.solve(pull_);
      const Eigen::MatrixXd spread = times_transposed(times(second_, factor.inverse().topLeftCorner(splines_, splines_)), second_);
      double sum = 0;
      for (Eigen::Index k = 0; k < stiffness_.size(); ++k) {
        const std::complex<double> d = c[k] - 2.0 * c[k + 1] + c[k + 2];
        const double square = std::norm(d) + 2 * spread(k, k);
        stiffness_[k] = (kBendFreedom + 2) / (kBendFreedom + square / (bend * bend));
        sum += stiffness_[k] * square;
      }
      bend = std::clamp(std::sqrt(sum / (2 * static_cast<double>(stiffness_.size()))), priors_.least_bend, priors_.largest_bend);
    }
    return bend;
  }

  /// Factor by which the variance of a mean over many rows exceeds that of independent rows.
  [[nodiscard]] double dependence() const {
    double own = 0;
    double shared = 0;
    const auto pull = [&](Eigen::Index f) { return weights_[f] / scale_[f] * residuals_[f]; };
    for (Eigen::Index f = 0; f < weights_.size(); ++f) {
      own += std::norm(pull(f));
      for (Eigen::Index k = 1; k <= kNeighbours && f + k < weights_.size(); ++k) shared += 2 * (std::conj(pull(f)) * pull(f + k)).real();
    }
    return own > 0 ? std::max(1.0, 1.0 + shared / own) : 1.0;
  }

  /// Variance of the bisquare's pull over the square of its mean slope, relative to the variance from the weighted normal equations.
  [[nodiscard]] double robust_price() const {
    double slope = 0;
    double square = 0;
    for (Eigen::Index f = 0; f < weights_.size(); ++f) {
      const double v2 = std::pow(size(f) / kBisquareCut, 2);
      if (v2 < 1) slope += std::max(0.0, (1 - v2) * (1 - v2) - 2 * v2 * (1 - v2));
      square += std::pow(weights_[f] * size(f), 2) / 2;
    }
    const auto n = static_cast<double>(weights_.size());
    const double mean_weight = weights_.mean();
    return slope > 0 ? square / n * mean_weight / std::pow(slope / n, 2) : 1.0;
  }

  [[nodiscard]] CurveFit result(double bend) {
    gather();
    const double price = std::max(1.0, robust_price()) * dependence();
    const Eigen::MatrixXd precision = normal_ / price + prior_precision(bend);
    CurveFit fit;
    fit.coefficients = coefficients_;
    fit.covariance = PivotedFactor(precision).inverse();
    fit.bend = bend;
    fit.scale = scale_;
    fit.dependence = dependence();
    fit.freedom = normal_.cwiseProduct(PivotedFactor(normal_ + prior_precision(bend)).inverse()).sum();
    fit.rejected_fraction = (weights_.array() < 0.5).cast<double>().mean();
    return fit;
  }

  Eigen::MatrixXd rows_;
  const Eigen::VectorXcd& response_;
  Eigen::Index splines_;
  CurvePriors priors_;
  Eigen::MatrixXd second_;     // second differences of the splines' coefficients
  Eigen::VectorXd stiffness_;  // of each second difference: small near a resonance
  Eigen::VectorXd weights_, scale_;
  Eigen::VectorXcd coefficients_, residuals_, pull_;
  Eigen::MatrixXd normal_;
  double power_ = 0;
  double least_scale_ = 0;
};

}  // namespace

CubicBasis::CubicBasis(double low, double high, double spacing)
    : low_(low), pieces_(std::max<Eigen::Index>(1, static_cast<Eigen::Index>(std::ceil((high - low) / spacing)))) {
  assert(low < high && spacing > 0);
  step_ = (high - low) / static_cast<double>(pieces_);
}

Eigen::RowVectorXd CubicBasis::at(double x) const {
  const double place = std::clamp((x - low_) / step_, 0.0, static_cast<double>(pieces_));
  const Eigen::Index piece = std::min(pieces_ - 1, static_cast<Eigen::Index>(place));
  const double u = place - static_cast<double>(piece);
  const double v = 1 - u;
  Eigen::RowVectorXd values = Eigen::RowVectorXd::Zero(size());
  values[piece] = v * v * v / 6;
  values[piece + 1] = (3 * u * u * u - 6 * u * u + 4) / 6;
  values[piece + 2] = (3 * v * v * v - 6 * v * v + 4) / 6;
  values[piece + 3] = u * u * u / 6;
  return values;
}

std::complex<double> CurveFit::value(const Eigen::RowVectorXd& row) const {
  const Eigen::VectorXd by = row.transpose();
  return {dot(by, coefficients.real()), dot(by, coefficients.imag())};
}

double CurveFit::variance(const Eigen::RowVectorXd& row) const { return quadratic_form(covariance, row.transpose()); }

double CurveFit::misfit(const Eigen::VectorXd& scales, const Eigen::VectorXd& reference, const Eigen::VectorXcd& response,
                        const Eigen::MatrixXd& regressors) const {
  const Eigen::VectorXd re = times_vector(regressors, coefficients.real()), im = times_vector(regressors, coefficients.imag());
  double sum = 0;
  for (Eigen::Index f = 0; f < scales.size(); ++f) {
    const double size = std::abs(response[f] - reference[f] * std::complex<double>(re[f], im[f])) / scales[f];
    sum += std::pow(std::min(size, kBisquareCut), 2);
  }
  return sum;
}

CurveFit fit_curve(const Eigen::VectorXd& reference, const Eigen::VectorXcd& response, const Eigen::MatrixXd& regressors,
                   Eigen::Index splines, const CurvePriors& priors) {
  assert(reference.size() >= 8 && reference.minCoeff() >= 0);
  return Fit(reference, response, regressors, splines, priors).run();
}

}  // namespace evenwall::internal::numeric
