#include "numeric/robust_regression.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace evenwall {
namespace {

constexpr Eigen::Index kEnoughSizes = 600;
constexpr double kStart = 0.01;  // standard errors: near enough for the bisquare to start from

struct ScatterFacts {
  double median_over_sd;     // median of |e| over the standard deviation of one part
  double derivative_factor;  // of v²(1−v²) in the mean derivative of the bisquare's ψ
  double huber_beyond;       // of s/|r| in the mean derivative of Huber's ψ past its corner
};

ScatterFacts facts_of(Scatter scatter) {
  return scatter == Scatter::kComplex ? ScatterFacts{1.17741, 2.0, 0.5} : ScatterFacts{0.67449, 4.0, 0.0};
}

class Reweighting {
 public:
  Reweighting(const Eigen::VectorXcd& reference, const Eigen::VectorXcd& response, const Eigen::MatrixXd& regressors, Scatter scatter,
              const RobustScheme& scheme)
      : reference_(reference),
        response_(response),
        regressors_(regressors),
        facts_(facts_of(scatter)),
        scheme_(scheme),
        power_(reference.cwiseAbs2()),
        cross_(reference.conjugate().cwiseProduct(response)) {
    weights_ = Eigen::VectorXd::Ones(reference.size());
  }

  void solve() {
    const Eigen::Index p = regressors_.cols();
    const Eigen::VectorXd w = weights_.cwiseProduct(power_);
    weighted_ = regressors_.array().colwise() * w.array();
    Eigen::MatrixXd normal(p, p);
    for (Eigen::Index a = 0; a < p; ++a) {
      for (Eigen::Index b = 0; b <= a; ++b) normal(a, b) = normal(b, a) = weighted_.col(a).dot(regressors_.col(b));
    }
    const Eigen::VectorXd cross_re = weights_.cwiseProduct(cross_.real());
    const Eigen::VectorXd cross_im = weights_.cwiseProduct(cross_.imag());
    const Eigen::LDLT<Eigen::MatrixXd> factor(normal);
    coefficients_.resize(p);
    coefficients_.real() = factor.solve(regressors_.transpose() * cross_re);
    coefficients_.imag() = factor.solve(regressors_.transpose() * cross_im);
    normal_ = normal;
    residuals_.resize(reference_.size());
    residuals_.real() = regressors_ * coefficients_.real();
    residuals_.imag() = regressors_ * coefficients_.imag();
    residuals_ = response_ - reference_.cwiseProduct(residuals_);
  }

  /// From at most kEnoughSizes residuals spread over all: a scale good to 4 % weighs as well.
  void rescale() {
    const Eigen::Index stride = std::max<Eigen::Index>(1, residuals_.size() / kEnoughSizes);
    std::vector<double> sizes;
    sizes.reserve(static_cast<std::size_t>(residuals_.size() / stride + 1));
    for (Eigen::Index f = 0; f < residuals_.size(); f += stride) sizes.push_back(std::sqrt(std::norm(residuals_[f])));
    const auto n = static_cast<double>(residuals_.size());
    const double lost = std::sqrt(n / (n - static_cast<double>(regressors_.cols())));
    scale_ = std::max(median(std::move(sizes)) / facts_.median_over_sd * lost, std::numeric_limits<double>::min());
  }

  void weigh_huber() {
    for (Eigen::Index f = 0; f < weights_.size(); ++f)
      weights_[f] = 1.0 / std::max(std::sqrt(std::norm(residuals_[f])) / scale_, scheme_.huber_corner);
  }

  void weigh_bisquare() {
    for (Eigen::Index f = 0; f < weights_.size(); ++f) {
      const double v2 = std::norm(residuals_[f] / (scheme_.bisquare_cut * scale_));
      weights_[f] = v2 < 1 ? (1 - v2) * (1 - v2) : 0;
    }
  }

  void iterate() {
    solve();
    const double near_enough = scheme_.bisquare_steps > 0 ? std::max(kStart, scheme_.settled) : scheme_.settled;
    for (int i = 0; i < scheme_.huber_steps && !moves_less(near_enough, [this] { weigh_huber(); }); ++i) {
    }
    for (int i = 0; i < scheme_.bisquare_steps && !moves_less(scheme_.settled, [this] { weigh_bisquare(); }); ++i) {
    }
  }

  /// Mean derivative of ψ: what a unit step of the coefficients moves the estimating equation by.
  [[nodiscard]] double mean_derivative() const {
    if (scheme_.bisquare_steps == 0) return mean_huber_derivative();
    double sum = 0;
    for (Eigen::Index f = 0; f < residuals_.size(); ++f) {
      const double v2 = std::norm(residuals_[f] / (scheme_.bisquare_cut * scale_));
      if (v2 < 1) sum += std::max(0.0, (1 - v2) * (1 - v2) - facts_.derivative_factor * v2 * (1 - v2));
    }
    return sum / static_cast<double>(residuals_.size());
  }

  /// The same for ψ = r/max(|r|/s, corner): beyond the corner only the turn of a complex residual counts, half of its two directions.
  [[nodiscard]] double mean_huber_derivative() const {
    double sum = 0;
    for (Eigen::Index f = 0; f < residuals_.size(); ++f) {
      const double v = std::abs(residuals_[f]) / scale_;
      sum += v < scheme_.huber_corner ? 1 / scheme_.huber_corner : facts_.huber_beyond / v;
    }
    return sum / static_cast<double>(residuals_.size());
  }

  /// Sums of each frame's pull on coefficient 0 over blocks.
  [[nodiscard]] std::vector<std::complex<double>> block_influence(std::size_t frames_per_block) const {
    const Eigen::MatrixXd normal = mean_derivative() * (regressors_.transpose() * power_.asDiagonal() * regressors_);
    const Eigen::VectorXd row = normal.ldlt().solve(Eigen::VectorXd::Unit(normal.rows(), 0));
    std::vector<std::complex<double>> sums;
    for (Eigen::Index f = 0; f < residuals_.size(); ++f) {
      if (static_cast<std::size_t>(f) % frames_per_block == 0) sums.emplace_back(0);
      sums.back() += regressors_.row(f).dot(row) * weights_[f] * std::conj(reference_[f]) * residuals_[f];
    }
    return sums;
  }

  [[nodiscard]] RobustFit result(std::size_t frames_per_block) const {
    const auto sums = block_influence(frames_per_block);
    Eigen::Matrix2d covariance = Eigen::Matrix2d::Zero();
    for (const auto& a : sums) {
      const Eigen::Vector2d v(a.real(), a.imag());
      covariance += v * v.transpose();
    }
    const auto blocks = static_cast<double>(sums.size());
    const double nu = std::max(1.0, blocks - static_cast<double>(regressors_.cols()));
    const double rejected = (weights_.array() < 0.5).cast<double>().mean();
    return {coefficients_, covariance * (blocks / nu), nu, scale_, rejected};
  }

 private:
  /// New weights, new coefficients. In the norm of the normal equations a standard error is the scale.
  template <typename Weigh>
  bool moves_less(double standard_errors, Weigh weigh) {
    const Eigen::VectorXcd before = coefficients_;
    rescale();
    weigh();
    solve();
    const Eigen::VectorXcd moved = coefficients_ - before;
    const double squared = moved.real().dot(normal_ * moved.real()) + moved.imag().dot(normal_ * moved.imag());
    return squared <= std::pow(standard_errors * scale_, 2);
  }

  const Eigen::VectorXcd& reference_;
  const Eigen::VectorXcd& response_;
  const Eigen::MatrixXd& regressors_;
  ScatterFacts facts_;
  RobustScheme scheme_;
  Eigen::VectorXd power_;
  Eigen::VectorXcd cross_;
  Eigen::MatrixXd weighted_;
  Eigen::MatrixXd normal_;
  Eigen::VectorXd weights_;
  Eigen::VectorXcd coefficients_;
  Eigen::VectorXcd residuals_;
  double scale_ = 0;
};

}  // namespace

RobustFit fit_robust(const Eigen::VectorXcd& reference, const Eigen::VectorXcd& response, const Eigen::MatrixXd& regressors,
                     std::size_t frames_per_block, Scatter scatter, const RobustScheme& scheme) {
  Reweighting fit(reference, response, regressors, scatter, scheme);
  fit.iterate();
  return fit.result(frames_per_block);
}

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  const double upper = *middle;
  if (values.size() % 2 == 1) return upper;
  return 0.5 * (upper + *std::max_element(values.begin(), middle));
}

}  // namespace evenwall
