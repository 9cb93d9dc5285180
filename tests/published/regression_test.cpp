// SPDX-License-Identifier: GPL-3.0-or-later
// Runs NIST StRD sets through the triangle that collects the rows of `solve`, the dense least squares that the fits of `solve` are compared
// with, and the straight line of `solve`.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "numeric/straight_line.hpp"
#include "numeric/triangular_fit.hpp"
#include "published/digits.hpp"
#include "published/nist_linear.hpp"
#include "solve/gauge_model.hpp"
#include "support/catch.hpp"
#include "support/least_squares.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;
using namespace evenwall::internal::solve;

namespace {

using Long = long double;
using LongMatrix = Eigen::Matrix<Long, Eigen::Dynamic, Eigen::Dynamic>;

/// x shifted and scaled to −1 … 1, because the solver's unknowns are also of order one.
struct Scaling {
  Long centre = 0;
  Long half_span = 1;
};

Scaling scaling_of(const nist::LinearSet& set, bool scaled) {
  if (!scaled || set.degree == 0) return {};
  const auto [low, high] = std::minmax_element(set.x[0].begin(), set.x[0].end());
  return {(static_cast<Long>(*low) + *high) / 2, (static_cast<Long>(*high) - *low) / 2};
}

Eigen::MatrixXd design_of(const nist::LinearSet& set, const Scaling& scaling) {
  const auto n = static_cast<Eigen::Index>(set.y.size());
  const auto columns = static_cast<Eigen::Index>(set.coefficients.size());
  Eigen::MatrixXd a(n, columns);
  for (Eigen::Index i = 0; i < n; ++i) {
    const auto row = static_cast<std::size_t>(i);
    const Long t = (set.x[0][row] - scaling.centre) / scaling.half_span;
    for (Eigen::Index k = 0; k < columns; ++k) {
      if (set.degree > 0)
        a(i, k) = static_cast<double>(std::pow(t, static_cast<int>(k)));
      else
        a(i, k) = set.intercept && k == 0 ? 1.0 : set.x[static_cast<std::size_t>(k - (set.intercept ? 1 : 0))][row];
    }
  }
  return a;
}

/// Coefficients of powers of x from those of powers of t, by the binomial theorem.
LongMatrix to_powers_of_x(Eigen::Index columns, const Scaling& scaling) {
  LongMatrix t = LongMatrix::Zero(columns, columns);
  for (Eigen::Index k = 0; k < columns; ++k) {
    Long binomial = 1;
    for (Eigen::Index j = k; j >= 0; --j) {
      t(j, k) = binomial * std::pow(-scaling.centre, static_cast<int>(k - j)) / std::pow(scaling.half_span, static_cast<int>(k));
      binomial *= static_cast<Long>(j) / static_cast<Long>(k - j + 1);
    }
  }
  return t;
}

/// Works as the iterations of `solve` do: it adds rows one by one, then the residuals that the solution leaves, for kRounds rounds.
dense::LeastSquaresFit by_triangle(const Eigen::MatrixXd& design, const Eigen::VectorXd& values) {
  constexpr int kRounds = 4;
  dense::LeastSquaresFit all{Eigen::VectorXd::Zero(design.cols()), {}, 0};
  Eigen::VectorXd left = values;
  for (int round = 0; round < kRounds; ++round) {
    TriangularFit fit(design.cols());
    for (Eigen::Index i = 0; i < design.rows(); ++i) fit.add(&design(i, 0), left[i], design.rows());
    fit.finish();
    all.coefficients += fit.coefficients();
    all.covariance = fit.inverse_root() * fit.inverse_root().transpose();
    all.sum_of_squares = fit.sum_of_squares();
    left = values - design * all.coefficients;
  }
  return all;
}

struct Digits {
  double coefficients = 15, standard_deviations = 15, residual_sd = 15;
};

using Fitter = dense::LeastSquaresFit (*)(const Eigen::MatrixXd& design, const Eigen::VectorXd& values);

Digits digits_of(const nist::LinearSet& set, bool scaled, Fitter fitter) {
  const Scaling scaling = scaling_of(set, scaled);
  const Eigen::MatrixXd a = design_of(set, scaling);
  const dense::LeastSquaresFit fit = fitter(a, Eigen::Map<const Eigen::VectorXd>(set.y.data(), a.rows()));
  const LongMatrix back = set.degree > 0 ? to_powers_of_x(a.cols(), scaling) : LongMatrix::Identity(a.cols(), a.cols());
  const LongMatrix b = back * fit.coefficients.cast<Long>();
  const LongMatrix covariance = back * fit.covariance.cast<Long>() * back.transpose();
  const double s = std::sqrt(fit.sum_of_squares / static_cast<double>(a.rows() - a.cols()));
  Digits digits;
  for (Eigen::Index k = 0; k < a.cols(); ++k) {
    const auto i = static_cast<std::size_t>(k);
    digits.coefficients = std::min(digits.coefficients, digits_right(static_cast<double>(b(k, 0)), set.coefficients[i]));
    const double sd = s * static_cast<double>(std::sqrt(covariance(k, k)));
    digits.standard_deviations = std::min(digits.standard_deviations, digits_right(sd, set.standard_deviations[i]));
  }
  digits.residual_sd = digits_right(s, set.residual_sd);
  return digits;
}

}  // namespace

TEST_CASE("NIST linear sets are solved to the required digits by the dense least squares") {
  fmt::print("{:10} {:>12} {:>12} {:>12} {:>22}\n", "set", "coefficients", "st. devs", "residual sd", "x scaled (Filip: not)");
  for (const nist::LinearSet& set : nist::linear_sets()) {
    const Digits digits = digits_of(set, set.name == "Filip", dense::least_squares);
    fmt::print("{:10} {:12.1f} {:12.1f} {:12.1f} {:22.1f}\n", set.name, digits.coefficients, digits.standard_deviations, digits.residual_sd,
               digits_of(set, set.name != "Filip", dense::least_squares).coefficients);
    INFO(set.name);
    // Values are certified to 15 digits. Whatever the arithmetic, Filip's condition number is 1e10 in powers of x: rounding of the data
    // alone costs 5 digits.
    const double wanted = set.name == "Filip" ? 9 : 11;
    CHECK(digits.coefficients >= wanted);
    CHECK(digits.standard_deviations >= wanted);
    CHECK(digits.residual_sd >= wanted);
  }
}

TEST_CASE("NIST sets are solved to the required digits by the triangle in which solve collects its rows") {
  for (const nist::LinearSet& set : nist::linear_sets()) {
    const Digits digits = digits_of(set, true, by_triangle);
    fmt::print("triangle: {:10} {:12.1f} {:12.1f} {:12.1f}\n", set.name, digits.coefficients, digits.standard_deviations,
               digits.residual_sd);
    INFO(set.name);
    // Wampler's residuals are up to 1e10 times the changes that the coefficients cause in them, and the triangle has double precision only.
    const double wanted = set.name.starts_with("Wampler") ? 8 : 11;
    CHECK(digits.coefficients >= wanted);
    CHECK(digits.standard_deviations >= wanted);
    CHECK(digits.residual_sd >= wanted);
  }
}

TEST_CASE("NIST Norris is solved to 12 digits by the line that relates the log to the signal") {
  // Tilt from signal (radians) = k·log − φ0 with one spread for all: slope k per radian logged, intercept −φ0.
  const nist::LinearSet set = nist::norris();
  const auto n = static_cast<Eigen::Index>(set.y.size());
  std::vector<Observation> observations(set.y.size());
  for (std::size_t i = 0; i < set.y.size(); ++i) observations[i].logged = degrees(set.x[0][i]);
  SignalFit signal;
  signal.psi_rad = Eigen::Map<const Eigen::VectorXd>(set.y.data(), n);
  signal.covariance = Eigen::MatrixXd::Zero(n + kCommonSize, n + kCommonSize);
  const GaugeFit fit = fit_gauge(observations, signal, Eigen::VectorXd::Ones(n), 1, std::nullopt);
  const double s2 = fit.misfit / static_cast<double>(n - 2);  // `solve` scales the covariance by this if the gauge is not stated
  // 12 digits follow from n·ε·(condition number 40 of the two columns scaled to one length).
  CHECK(digits_right(-fit.theta[0], set.coefficients[0]) >= 12);
  CHECK(digits_right(fit.theta[1], set.coefficients[1]) >= 12);
  CHECK(digits_right(std::sqrt(s2 * fit.covariance(0, 0)), set.standard_deviations[0]) >= 12);
  CHECK(digits_right(std::sqrt(s2 * fit.covariance(1, 1)), set.standard_deviations[1]) >= 12);
  CHECK(digits_right(std::sqrt(s2), set.residual_sd) >= 12);
  // The off-diagonal element of (XᵀX)⁻¹ is −9.89095016390515e-05 (GSL 2.7's test of the same set, unit weights), times the certified s² for
  // the covariance; φ0 = −b0.
  CHECK(digits_right(-fit.covariance(0, 1), -9.89095016390515e-05) >= 12);
  // The same test's covariance, −7.74327536339570e-05, is correct to 10 digits only, because it is not the product of its own two numbers.
  CHECK(digits_right(-9.89095016390515e-05 * 0.782864662630069, -7.74327536339570e-05) < 11);
  CHECK(digits_right(-s2 * fit.covariance(0, 1), -7.74327536339570e-05) >= 10);

  const auto line = straight_line(set.x[0], set.y, 0);  // the fit used to judge trends over the steps
  REQUIRE(line);
  CHECK(digits_right(line->slope, set.coefficients[1]) >= 12);
  CHECK(digits_right(line->u_slope, set.standard_deviations[1]) >= 12);
}

namespace {

/// Gauss–Newton with step halving on the dense least squares (tests/support). `evenwall` has no general nonlinear fitter: the loop of
/// fit_signal is bound to its model, so this loop belongs to the test.
template <class Model>
dense::LeastSquaresFit gauss_newton(const std::vector<double>& x, const std::vector<double>& y, Eigen::VectorXd& b, Model model) {
  const auto n = static_cast<Eigen::Index>(x.size());
  Eigen::MatrixXd slopes(n, b.size());
  const auto residuals = [&](const Eigen::VectorXd& at) {
    Eigen::VectorXd r(n);
    for (Eigen::Index i = 0; i < n; ++i) {
      Eigen::VectorXd slope(b.size());
      r[i] = y[static_cast<std::size_t>(i)] - model(x[static_cast<std::size_t>(i)], at, slope);
      slopes.row(i) = slope.transpose();
    }
    return r;
  };
  dense::LeastSquaresFit fit;
  for (int i = 0; i < 60; ++i) {
    const Eigen::VectorXd r = residuals(b);
    fit = dense::least_squares(slopes, r);
    Eigen::VectorXd step = fit.coefficients;
    for (int half = 0; half < 20 && residuals(b + step).squaredNorm() > r.squaredNorm() * (1 + 1e-12); ++half) step *= 0.5;
    b += step;
  }
  fit.sum_of_squares = residuals(b).squaredNorm();
  return fit;
}

template <class Model>
void check_nonlinear(const std::vector<double>& x, const std::vector<double>& y, Eigen::VectorXd b, const std::vector<double>& certified,
                     const std::vector<double>& certified_sd, double rss, Model model) {
  const dense::LeastSquaresFit fit = gauss_newton(x, y, b, model);
  const double s2 = fit.sum_of_squares / static_cast<double>(x.size() - certified.size());
  for (std::size_t k = 0; k < certified.size(); ++k) {
    const auto i = static_cast<Eigen::Index>(k);
    // Values are certified to 11 digits; 9 digits leave a margin for the flat valley.
    CHECK(digits_right(b[i], certified[k]) >= 9);
    CHECK(digits_right(std::sqrt(s2 * fit.covariance(i, i)), certified_sd[k]) >= 9);
  }
  CHECK(digits_right(fit.sum_of_squares, rss) >= 10);  // also shows that the data, typed from memory, are NIST's
}

}  // namespace

TEST_CASE("NIST Misra1a is solved to 9 digits by Gauss-Newton steps with the dense least squares") {
  const std::vector<double> x{77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0};
  const std::vector<double> y{10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78};
  const auto model = [](double at, const Eigen::VectorXd& b, Eigen::VectorXd& slope) {
    const double e = std::exp(-b[1] * at);
    slope << 1 - e, b[0] * at * e;
    return b[0] * (1 - e);
  };
  for (const Eigen::Vector2d& start : {Eigen::Vector2d(500, 1e-4), Eigen::Vector2d(250, 5e-4)}) {
    check_nonlinear(x, y, start, {2.3894212918e2, 5.5015643181e-4}, {2.7070075241, 7.2668688436e-6}, 1.2455138894e-1, model);
  }
}

TEST_CASE("NIST Roszman1 is solved to 9 digits by Gauss-Newton steps with the dense least squares") {
  // Trap: a widespread copy of this file starts b1 with 1.20196866396E-0; 2.0196866396E-01 is correct.
  const std::vector<double> x{-4868.68, -4868.09, -4867.41, -3375.19, -3373.14, -3372.03, -2473.74, -2472.35, -2469.45,
                              -1894.65, -1893.40, -1497.24, -1495.85, -1493.41, -1208.68, -1206.18, -1206.04, -997.92,
                              -996.61,  -996.31,  -834.94,  -834.66,  -710.03,  -530.16,  -464.17};
  const std::vector<double> y{0.252429, 0.252141, 0.251809, 0.297989, 0.296257, 0.295319, 0.339603, 0.337731, 0.333820,
                              0.389510, 0.386998, 0.438864, 0.434887, 0.427893, 0.471568, 0.461699, 0.461144, 0.513532,
                              0.506641, 0.505062, 0.535648, 0.533726, 0.568064, 0.612886, 0.624169};
  const auto model = [](double at, const Eigen::VectorXd& b, Eigen::VectorXd& slope) {
    const double d = at - b[3];
    const double u = std::numbers::pi * (d * d + b[2] * b[2]);
    slope << 1, -at, -d / u, -b[2] / u;
    return b[0] - b[1] * at - std::atan(b[2] / d) / std::numbers::pi;
  };
  for (const Eigen::Vector4d& start : {Eigen::Vector4d(0.1, -1e-5, 1000, -100), Eigen::Vector4d(0.2, -5e-6, 1200, -150)}) {
    check_nonlinear(x, y, start, {2.0196866396e-1, -6.1953516256e-6, 1.2044556708e3, -1.8134269537e2},
                    {1.9172666023e-2, 3.2058931691e-6, 7.4050983057e1, 4.9573513849e1}, 4.9484847331e-4, model);
  }
}
