#include "numeric/robust_regression.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace evenwall {
namespace {

constexpr double kConverged = 1e-10;  // relative change of the coefficients

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
        power_(reference.cwiseAbs2()) {
    cross_.resize(reference.size());
    for (Eigen::Index f = 0; f < reference.size(); ++f) cross_[f] = std::conj(reference[f]) * response[f];
    weights_ = Eigen::VectorXd::Ones(reference.size());
  }

  void solve() {
    const Eigen::VectorXd w = weights_.cwiseProduct(power_);
    const Eigen::MatrixXd normal = regressors_.transpose() * w.asDiagonal() * regressors_;
    const Eigen::LDLT<Eigen::MatrixXd> factor(normal);
    const Eigen::VectorXcd weighted = weights_.cast<std::complex<double>>().cwiseProduct(cross_);
    const Eigen::VectorXd re = regressors_.transpose() * weighted.real();
    const Eigen::VectorXd im = regressors_.transpose() * weighted.imag();
    coefficients_.resize(regressors_.cols());
    coefficients_.real() = factor.solve(re);
    coefficients_.imag() = factor.solve(im);
    residuals_ = response_ - reference_.cwiseProduct((regressors_ * coefficients_.real()).cast<std::complex<double>>() +
                                                     std::complex<double>(0, 1) * (regressors_ * coefficients_.imag()));
  }

  void rescale() {
    std::vector<double> sizes(static_cast<std::size_t>(residuals_.size()));
    for (Eigen::Index f = 0; f < residuals_.size(); ++f) sizes[static_cast<std::size_t>(f)] = std::abs(residuals_[f]);
    const auto n = static_cast<double>(residuals_.size());
    const double lost = std::sqrt(n / (n - static_cast<double>(regressors_.cols())));
    scale_ = std::max(median(std::move(sizes)) / facts_.median_over_sd * lost, std::numeric_limits<double>::min());
  }

  void weigh_huber() {
    for (Eigen::Index f = 0; f < weights_.size(); ++f) weights_[f] = 1.0 / std::max(std::abs(residuals_[f]) / scale_, scheme_.huber_corner);
  }

  void weigh_bisquare() {
    for (Eigen::Index f = 0; f < weights_.size(); ++f) {
      const double v2 = std::norm(residuals_[f] / (scheme_.bisquare_cut * scale_));
      weights_[f] = v2 < 1 ? (1 - v2) * (1 - v2) : 0;
    }
  }

  void iterate() {
    solve();
    for (int i = 0; i < scheme_.huber_steps; ++i) {
      rescale();
      weigh_huber();
      solve();
    }
    for (int i = 0; i < scheme_.bisquare_steps; ++i) {
      const Eigen::VectorXcd before = coefficients_;
      rescale();
      weigh_bisquare();
      solve();
      if ((coefficients_ - before).norm() <= kConverged * coefficients_.norm()) break;
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
  const Eigen::VectorXcd& reference_;
  const Eigen::VectorXcd& response_;
  const Eigen::MatrixXd& regressors_;
  ScatterFacts facts_;
  RobustScheme scheme_;
  Eigen::VectorXd power_;
  Eigen::VectorXcd cross_;
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
