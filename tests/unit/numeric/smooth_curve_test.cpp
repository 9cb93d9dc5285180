// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/smooth_curve.hpp"

#include "support/catch.hpp"
#include "support/rig.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;

namespace {

using C = std::complex<double>;

struct CurveData {
  CubicBasis basis{0, 6, 0.1};
  Eigen::VectorXd reference;
  Eigen::VectorXcd response;
  Eigen::MatrixXd rows;
};

/// 900 rows over six units of x, with the curve and a sine of a little more than eight periods.
template <typename Curve>
CurveData data_of(const Curve& curve, double sine, double noise, std::uint64_t seed) {
  rig::Draw draw(seed);
  CurveData d;
  const int n = 900;
  d.reference = Eigen::VectorXd::Ones(n);
  d.response.resize(n);
  d.rows = Eigen::MatrixXd::Zero(n, d.basis.size() + 2);
  for (int i = 0; i < n; ++i) {
    const double x = 6.0 * i / (n - 1);
    const double angle = 2 * 3.14159265358979 * x / 0.72;
    d.rows.row(i).head(d.basis.size()) = d.basis.at(x);
    d.rows(i, d.basis.size()) = std::cos(angle);
    d.rows(i, d.basis.size() + 1) = std::sin(angle);
    d.response[i] = curve(x) + sine * std::cos(angle) + noise * C(draw.normal(), draw.normal());
  }
  return d;
}

CurveFit fitted(const CurveData& d) { return fit_curve(d.reference, d.response, d.rows, d.basis.size(), {1e-5, 0.02, 0.005}); }

C value_at(const CurveFit& fit, const CurveData& d, double x) {
  Eigen::RowVectorXd row = Eigen::RowVectorXd::Zero(d.rows.cols());
  row.head(d.basis.size()) = d.basis.at(x);
  return fit.value(row);
}

}  // namespace

TEST_CASE("Cubic splines add up to one and reproduce straight lines") {
  const CubicBasis basis(-1, 2, 0.25);
  CHECK(basis.size() == 15);
  Eigen::VectorXd line(basis.size());
  for (Eigen::Index i = 0; i < basis.size(); ++i) line[i] = -1 + 0.25 * (static_cast<double>(i) - 1);
  for (const double x : {-1.0, -0.37, 0.5, 1.99, 2.0}) {
    CHECK_THAT(basis.at(x).sum(), WithinAbs(1, 1e-14));
    CHECK_THAT(basis.at(x).dot(line), WithinAbs(x, 1e-14));
    CHECK(basis.at(x).minCoeff() >= 0);
  }
}

TEST_CASE("A straight curve and a sine are separated, with errors that fit the stated uncertainties") {
  double curve2 = 0, stated2 = 0, sine2 = 0, u_sine2 = 0;
  const int runs = 40;
  for (std::uint64_t seed = 1; seed <= runs; ++seed) {
    const CurveData d = data_of([](double x) { return C(0.01 + 0.001 * x, -0.002); }, 0.0014, 3e-4, seed);
    const CurveFit fit = fitted(d);
    Eigen::RowVectorXd row = Eigen::RowVectorXd::Zero(d.rows.cols());
    row.head(d.basis.size()) = d.basis.at(3.1);
    curve2 += std::norm(fit.value(row) - C(0.0131, -0.002)) / (2 * runs);
    stated2 += fit.variance(row) / runs;
    const Eigen::Index cosine = d.basis.size();
    sine2 += std::norm(fit.coefficients[cosine] - 0.0014) / (2 * runs);
    u_sine2 += fit.covariance(cosine, cosine) / runs;
  }
  INFO("error of the curve " << std::sqrt(curve2) << ", stated " << std::sqrt(stated2) << ", error of the sine " << std::sqrt(sine2)
                             << ", stated " << std::sqrt(u_sine2));
  // Each mean of 80 squares is known to 16 % in variance. The stated variance includes the full freedom to bend, although it is hardly
  // used.
  CHECK(stated2 / curve2 > 0.7);
  CHECK(stated2 / curve2 < 3);
  CHECK(u_sine2 / sine2 > 0.65);
  CHECK(u_sine2 / sine2 < 1.6);
  CHECK(std::sqrt(sine2) < 3e-5);  // it would be 3e-4·√(2/900) = 1.4e-5 if the curve were known
}

TEST_CASE("A bump bends the curve at its position and is not taken for the sine") {
  const auto bump = [](double x) { return C(0.01, 0) + 0.01 / (1.0 + 36 * (x - 3.3) * (x - 3.3)); };
  const CurveData d = data_of(bump, 0, 3e-4, 5);
  const CurveFit fit = fitted(d);
  CHECK(std::abs(fit.coefficients[d.basis.size()]) < 1e-4);  // the bump projected on the sine would be about 1e-3
  for (const double x : {0.7, 2.0, 3.3, 3.5, 5.0}) {
    INFO(x);
    CHECK(std::abs(value_at(fit, d, x) - bump(x)) < 3e-4);  // one row's noise; the bump is thirty times as high
  }
}

TEST_CASE("Clicks lose their weight") {
  CurveData d = data_of([](double) { return C(0.01, 0); }, 0, 1e-5, 3);
  rig::Draw draw(9);
  for (int i = 0; i < 900; i += 9) d.response[i] += C(draw.normal(), draw.normal());
  const CurveFit fit = fitted(d);
  CHECK(std::abs(value_at(fit, d, 3) - 0.01) < 1e-5);
  CHECK_THAT(fit.rejected_fraction, WithinAbs(1.0 / 9, 0.03));
}
