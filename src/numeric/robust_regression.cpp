// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/robust_regression.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "numeric/linear_algebra.hpp"

namespace evenwall::internal::numeric {
namespace {

constexpr Eigen::Index kEnoughSizes = 600;
constexpr Eigen::Index kEnoughToStart = 400;  // rows or more: the standard error of 400 is twice that of 1,600
constexpr double kLeastScale = 1e-150;        // its square is still a normal number
constexpr double kStart = 0.01;               // standard errors: accurate enough to start the bisquare

struct ScatterFacts {
  double median_over_sd;     // median of |e| over the standard deviation of one part
  double derivative_factor;  // factor of v²(1−v²) in the mean derivative of the bisquare's ψ
  double huber_beyond;       // factor of s/|r| in the mean derivative of Huber's ψ beyond its corner
};

ScatterFacts facts_of(Scatter scatter) {
  return scatter == Scatter::kComplex ? ScatterFacts{1.17741, 2.0, 0.5} : ScatterFacts{0.67449, 4.0, 0.0};
}

/// Median of the square roots; the squares have the same order.
double median_root(std::vector<double> squares) {
  const auto middle = squares.begin() + static_cast<std::ptrdiff_t>(squares.size() / 2);
  std::nth_element(squares.begin(), middle, squares.end());
  const double upper = std::sqrt(*middle);
  if (squares.size() % 2 == 1) return upper;
  return 0.5 * (upper + std::sqrt(*std::max_element(squares.begin(), middle)));
}

/// Iterates with separate real and imaginary parts, so that every loop runs over plain numbers. A real problem has no imaginary parts.
class Reweighting {
 public:
  Reweighting(const Eigen::VectorXcd& reference, const Eigen::VectorXcd& response, const Eigen::MatrixXd& regressors, Scatter scatter,
              const RobustScheme& scheme)
      : regressors_(regressors),
        facts_(facts_of(scatter)),
        scheme_(scheme),
        reference_(parts_of(reference)),
        response_(parts_of(response)),
        complex_(!(reference_.im == 0).all() || !(response_.im == 0).all()),
        power_(reference_.re.square() + reference_.im.square()),
        cross_{reference_.re * response_.re + reference_.im * response_.im, reference_.re * response_.im - reference_.im * response_.re},
        weights_(Eigen::ArrayXd::Ones(reference.size())) {}

  void solve() {
    const Eigen::Index p = regressors_.cols();
    // Products of the transposed matrix with a vector accumulate many sums at once; a single sum would wait for each addition.
    weighted_ = weights_ * power_;
    normal_.resize(p, p);
    for (Eigen::Index a = 0; a < p; ++a) {
      column_ = regressors_.col(a).array() * weighted_;
      normal_.col(a) = transposed_times_vector(regressors_, column_);
    }
    const PivotedFactor factor(normal_);
    column_ = weights_ * cross_.re;
    const Eigen::VectorXd re = factor.solve(transposed_times_vector(regressors_, column_));
    Eigen::VectorXd im = Eigen::VectorXd::Zero(p);
    if (complex_) {
      column_ = weights_ * cross_.im;
      im = factor.solve(transposed_times_vector(regressors_, column_));
    }
    coefficients_.resize(p);
    for (Eigen::Index k = 0; k < p; ++k) coefficients_[k] = {re[k], im[k]};
    set_residuals();
  }

  /// Estimates the scale from kEnoughSizes residuals or up to twice as many, spread over all rows. A scale accurate to 4 % gives weights
  /// that are as good.
  void rescale() {
    const Eigen::Index stride = std::max<Eigen::Index>(1, squares_.size() / kEnoughSizes);
    std::vector<double> squares;
    squares.reserve(static_cast<std::size_t>(squares_.size() / stride + 1));
    for (Eigen::Index f = 0; f < squares_.size(); f += stride) squares.push_back(squares_[f]);
    const auto n = static_cast<double>(squares_.size());
    const double lost = std::sqrt(n / (n - static_cast<double>(regressors_.cols())));
    scale_ = std::max(median_root(std::move(squares)) / facts_.median_over_sd * lost, kLeastScale);
  }

  void weigh_huber() { weights_ = (squares_.sqrt() / scale_).max(scheme_.huber_corner).inverse(); }

  void weigh_bisquare() { weights_ = (1 - cut_squares().min(1)).square(); }

  /// Starts at these coefficients; without this call the iteration starts at plain least squares.
  void start_at(const Eigen::VectorXcd& coefficients) {
    coefficients_ = coefficients;
    set_residuals();
  }

  void iterate() {
    if (coefficients_.size() == 0) solve();
    const double near_enough = scheme_.bisquare_steps > 0 ? std::max(kStart, scheme_.settled) : scheme_.settled;
    for (int i = 0; i < scheme_.huber_steps && !moves_less(near_enough, [this] { weigh_huber(); }); ++i) {
    }
    for (int i = 0; i < scheme_.bisquare_steps && !moves_less(scheme_.settled, [this] { weigh_bisquare(); }); ++i) {
    }
  }

  /// Mean derivative of ψ: the change of the estimating equation for a unit step of the coefficients.
  [[nodiscard]] double mean_derivative() const {
    if (scheme_.bisquare_steps == 0) return mean_huber_derivative();
    const Eigen::ArrayXd v2 = cut_squares().min(1);
    return ((1 - v2) * (1 - (1 + facts_.derivative_factor) * v2)).max(0).mean();
  }

  /// The same for ψ = r/max(|r|/s, corner): beyond the corner only the direction of a complex residual counts, one of its two
  /// dimensions.
  [[nodiscard]] double mean_huber_derivative() const {
    double sum = 0;
    for (Eigen::Index f = 0; f < squares_.size(); ++f) {
      const double v = std::sqrt(squares_[f]) / scale_;
      sum += v < scheme_.huber_corner ? 1 / scheme_.huber_corner : facts_.huber_beyond / v;
    }
    return sum / static_cast<double>(squares_.size());
  }

  /// Influence of the frames on coefficient 0, summed over blocks.
  [[nodiscard]] std::vector<std::complex<double>> block_influence(Eigen::Index frames_per_block) const {
    const Eigen::MatrixXd normal = mean_derivative() * weighted_square(regressors_, power_);
    const Eigen::VectorXd row = PivotedFactor(normal).solve(Eigen::VectorXd(Eigen::VectorXd::Unit(normal.rows(), 0)));
    const Eigen::ArrayXd pull = times_vector(regressors_, row).array() * weights_;
    const Eigen::ArrayXd re = pull * (reference_.re * residuals_.re + reference_.im * residuals_.im);
    const Eigen::ArrayXd im = pull * (reference_.re * residuals_.im - reference_.im * residuals_.re);
    assert(frames_per_block >= 1);
    std::vector<std::complex<double>> sums;
    for (Eigen::Index f = 0; f < re.size(); f += frames_per_block) {
      const Eigen::Index here = std::min(frames_per_block, re.size() - f);
      sums.emplace_back(re.segment(f, here).sum(), im.segment(f, here).sum());
    }
    return sums;
  }

  [[nodiscard]] const Eigen::VectorXcd& coefficients() const { return coefficients_; }

  [[nodiscard]] RobustFit result(std::size_t frames_per_block) const {
    const auto sums = block_influence(static_cast<Eigen::Index>(frames_per_block));
    Eigen::Matrix2d covariance = Eigen::Matrix2d::Zero();
    for (const auto& a : sums) {
      const Eigen::Vector2d v(a.real(), a.imag());
      covariance += v * v.transpose();
    }
    const auto blocks = static_cast<double>(sums.size());
    const double nu = std::max(1.0, blocks - static_cast<double>(regressors_.cols()));
    const double rejected = (weights_ < 0.5).cast<double>().mean();
    return {coefficients_, covariance * (blocks / nu), nu, scale_, rejected};
  }

 private:
  struct Parts {
    Eigen::ArrayXd re, im;
  };
  static Parts parts_of(const Eigen::VectorXcd& values) { return {values.real().array(), values.imag().array()}; }

  void set_residuals() {
    const Eigen::ArrayXd re = times_vector(regressors_, Eigen::VectorXd(coefficients_.real())).array();
    if (complex_) {
      const Eigen::ArrayXd im = times_vector(regressors_, Eigen::VectorXd(coefficients_.imag())).array();
      residuals_.re = response_.re - (reference_.re * re - reference_.im * im);
      residuals_.im = response_.im - (reference_.re * im + reference_.im * re);
      squares_ = residuals_.re.square() + residuals_.im.square();
    } else {
      residuals_.re = response_.re - reference_.re * re;
      residuals_.im.setZero(re.size());
      squares_ = residuals_.re.square();
    }
  }

  /// |r/(cut·s)|² of each frame.
  [[nodiscard]] Eigen::ArrayXd cut_squares() const { return squares_ / std::pow(scheme_.bisquare_cut * scale_, 2); }

  /// Computes new weights and coefficients. In the norm of the normal equations a standard error equals the scale.
  template <typename Weigh>
  bool moves_less(double standard_errors, Weigh weigh) {
    const Eigen::VectorXcd before = coefficients_;
    rescale();
    weigh();
    solve();
    const Eigen::VectorXcd moved = coefficients_ - before;
    const Eigen::VectorXd re = moved.real(), im = moved.imag();
    const double squared = quadratic_form(normal_, re) + quadratic_form(normal_, im);
    return squared <= std::pow(standard_errors * scale_, 2);
  }

  const Eigen::MatrixXd& regressors_;
  ScatterFacts facts_;
  RobustScheme scheme_;
  Parts reference_, response_;
  bool complex_;
  Eigen::ArrayXd power_;
  Parts cross_;
  Eigen::ArrayXd weights_, weighted_;
  Eigen::VectorXd column_;
  Eigen::MatrixXd normal_;
  Eigen::VectorXcd coefficients_;
  Parts residuals_;
  Eigen::ArrayXd squares_;  // squared magnitudes of the residuals
  double scale_ = 0;
};

/// Every stride-th row of a problem.
struct Some {
  Some(const Eigen::VectorXcd& all_reference, const Eigen::VectorXcd& all_response, const Eigen::MatrixXd& all_regressors,
       Eigen::Index stride) {
    const Eigen::Index rows = (all_reference.size() - 1) / stride + 1;
    reference.resize(rows);
    response.resize(rows);
    regressors.resize(rows, all_regressors.cols());
    for (Eigen::Index f = 0; f < rows; ++f) {
      reference[f] = all_reference[f * stride];
      response[f] = all_response[f * stride];
      for (Eigen::Index k = 0; k < regressors.cols(); ++k) regressors(f, k) = all_regressors(f * stride, k);
    }
  }
  Eigen::VectorXcd reference, response;
  Eigen::MatrixXd regressors;
};

}  // namespace

RobustFit fit_robust(const Eigen::VectorXcd& reference, const Eigen::VectorXcd& response, const Eigen::MatrixXd& regressors,
                     std::size_t frames_per_block, Scatter scatter, const RobustScheme& scheme) {
  assert(reference.size() >= 2 * regressors.cols() && frames_per_block >= 1);
  RobustScheme rest = scheme;
  Eigen::VectorXcd start;
  // Huber's steps only give the bisquare a start, so some of the rows are enough if there are many.
  const Eigen::Index stride = reference.size() / kEnoughToStart;
  if (stride > 1 && scheme.huber_steps > 0 && scheme.bisquare_steps > 0) {
    const Some some(reference, response, regressors, stride);
    RobustScheme first = scheme;
    first.settled = std::max(kStart, scheme.settled);
    first.bisquare_steps = 0;
    Reweighting rough(some.reference, some.response, some.regressors, scatter, first);
    rough.iterate();
    start = rough.coefficients();
    rest.huber_steps = 0;
  }
  Reweighting fit(reference, response, regressors, scatter, rest);
  if (start.size() > 0) fit.start_at(start);
  fit.iterate();
  return fit.result(frames_per_block);
}

double median(std::vector<double> values) {
  assert(!values.empty());
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  const double upper = *middle;
  if (values.size() % 2 == 1) return upper;
  return 0.5 * (upper + *std::max_element(values.begin(), middle));
}

}  // namespace evenwall::internal::numeric
