// SPDX-License-Identifier: GPL-3.0-or-later
// Checks the examples of the Guide to the expression of uncertainty in measurement (JCGM 100:2008), annex H, with the covariance code of
// readings and solutions.
#include <cmath>
#include <complex>
#include <limits>

#include "numeric/distributions.hpp"
#include "numeric/robust_regression.hpp"
#include "solve/criteria.hpp"
#include "solve/root_distribution.hpp"
#include "solve/tilt_fit.hpp"
#include "solve/uncertainty.hpp"
#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;
using namespace evenwall::internal::solve;

TEST_CASE("The covariance of a complex ratio reproduces GUM H.2, resistance and reactance from correlated inputs") {
  // Table H.2 (checked with GTC's test_type_a.py, MSLNZ): five simultaneous readings of V (volt), I (ampere), φ (radian).
  const double v[] = {5.007, 4.994, 5.005, 4.990, 4.999};
  const double i[] = {19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3};
  const double phi[] = {1.0456, 1.0438, 1.0468, 1.0428, 1.0433};
  // "Approach 2": each set gives a complex impedance V/I·exp(jφ), as each frame of a passage gives a ratio. The fit is by least squares
  // because five sets are too few for robust weights.
  Eigen::VectorXcd impedance(5);
  for (Eigen::Index k = 0; k < 5; ++k) impedance[k] = std::polar(v[k] / i[k], phi[k]);
  RobustScheme plain;
  plain.huber_steps = 0;
  plain.bisquare_cut = std::numeric_limits<double>::infinity();
  const RobustFit fit = fit_robust(Eigen::VectorXcd::Ones(5), impedance, Eigen::MatrixXd::Ones(5, 1), 1, Scatter::kComplex, plain);
  const double u_r = std::sqrt(fit.covariance(0, 0));
  const double u_x = std::sqrt(fit.covariance(1, 1));
  // As printed: R 127.732, X 219.847, u 0.071 and 0.295, r −0.588, ν 4.
  CHECK_THAT(fit.coefficients[0].real(), WithinAbs(127.732, 5e-4));
  CHECK_THAT(fit.coefficients[0].imag(), WithinAbs(219.847, 5e-4));
  CHECK_THAT(u_r, WithinAbs(0.071, 5e-4));
  CHECK_THAT(u_x, WithinAbs(0.295, 5e-4));
  CHECK_THAT(fit.covariance(0, 1) / (u_r * u_x), WithinAbs(-0.588, 5e-4));
  CHECK(fit.degrees_of_freedom == 4);
  // Recomputed from the same data to more digits.
  CHECK_THAT(fit.coefficients[0].real(), WithinRel(127.7316304828154, 1e-13));
  CHECK_THAT(fit.coefficients[0].imag(), WithinRel(219.84689460329236, 1e-13));
  CHECK_THAT(u_r, WithinRel(0.07127354317859465, 1e-11));
  CHECK_THAT(u_x, WithinRel(0.2954890856100829, 1e-11));
  CHECK_THAT(fit.covariance(0, 1) / (u_r * u_x), WithinAbs(-0.5882768557970613, 1e-11));
  // Trap: the correlations as printed (−0.36, 0.86, −0.65) give r = −0.591, u(R) = 0.070, so the raw sets must be used.
}

namespace {

constexpr double kTemperature_c[] = {21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511};
constexpr double kCorrection_c[] = {-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160};

/// H.3 as a session: the correction represents the tilt from the signal (radians), the temperature from `origin_c` represents the log, in
/// user units. Then least crosstalk φ0 is minus the line's value at the origin, and k per unit is its slope.
TiltFit thermometer(double origin_c, double u_zero_rad) {
  std::vector<Observation> observations(11);
  SignalFit signal;
  signal.psi_rad.resize(11);
  signal.common = Eigen::VectorXd::Zero(kCommonSize);
  signal.covariance = Eigen::MatrixXd::Zero(11 + kCommonSize, 11 + kCommonSize);
  for (std::size_t k = 0; k < 11; ++k) {
    observations[k].logged = kTemperature_c[k] - origin_c;
    signal.psi_rad[static_cast<Eigen::Index>(k)] = kCorrection_c[k];
  }
  GaugePriors priors;
  priors.in_degrees = false;
  priors.u_zero_deg = degrees(u_zero_rad);
  return fit_tilt(observations, signal, priors);
}

double u_least_rad(const TiltAccount& account) {
  return radians(std::sqrt(linear_variance_deg2(CriterionKind::kLeast, degrees(account.least_rad), account)));
}

}  // namespace

TEST_CASE("The fit of the log to the signal reproduces GUM H.3, a calibration line with correlated coefficients") {
  const TiltFit fit = thermometer(20, 0);
  REQUIRE(fit.gauge == GaugeKnowledge::kEstimated);
  const TiltAccount& all = fit.accounts.front();
  REQUIRE(all.wrong.empty());
  const double per_unit = radians(1.0);
  const double u_y1 = std::sqrt(all.covariance(0, 0));
  const double u_y2 = std::sqrt(all.covariance(1, 1)) * per_unit;
  // As printed: y1 −0.1712 (0.0029), y2 0.00218 (0.00067), r −0.930, ν 9.
  CHECK_THAT(-all.least_rad, WithinAbs(-0.1712, 5e-5));
  CHECK_THAT(all.scale * per_unit, WithinAbs(0.00218, 5e-6));
  CHECK_THAT(u_y1, WithinAbs(0.0029, 5e-5));
  CHECK_THAT(u_y2, WithinAbs(0.00067, 5e-6));
  CHECK(all.degrees_of_freedom == 9);
  // Recomputed to more digits. The tolerance allows for rounding in a line with columns that are 0.93 parallel.
  CHECK_THAT(-all.least_rad, WithinRel(-0.17120379013134998, 1e-12));
  CHECK_THAT(all.scale * per_unit, WithinRel(0.002182697739887278, 1e-12));
  CHECK_THAT(u_y1, WithinRel(0.0028775978351599537, 1e-12));
  CHECK_THAT(u_y2, WithinRel(0.0006679387732278317, 1e-12));
  CHECK_THAT(-all.covariance(0, 1) * per_unit / (u_y1 * u_y2), WithinAbs(-0.9304296030934459, 1e-12));
  CHECK_THAT(u_least_rad(all), WithinRel(u_y1, 1e-12));
}

TEST_CASE("The fit of the log to the signal reproduces GUM H.3.4, the value at 30 °C outside the readings") {
  const TiltAccount at30 = thermometer(30, 0).accounts.front();
  CHECK_THAT(-at30.least_rad, WithinAbs(-0.1494, 5e-5));   // printed
  CHECK_THAT(u_least_rad(at30), WithinAbs(0.0041, 5e-5));  // printed
  CHECK_THAT(-at30.least_rad, WithinRel(-0.1493768127324772, 1e-12));
  CHECK_THAT(u_least_rad(at30), WithinRel(0.004138595752854948, 1e-12));
}

TEST_CASE("In GUM H.3, an offset common to all readings enlarges the uncertainty of the intercept and not of the slope") {
  // GTC's documentation, example H.3, with a common u of 0.005: intercept u 0.00576893138292676. Here a stated gauge zero represents the
  // common term.
  const TiltAccount with = thermometer(20, 0.005).accounts.front();
  CHECK_THAT(std::sqrt(with.covariance(0, 0)), WithinRel(0.00576893138292676, 1e-11));
  CHECK_THAT(with.covariance(1, 1), WithinRel(thermometer(20, 0).accounts.front().covariance(1, 1), 1e-14));
}

namespace {

// u_i (nm) and ν_i of the end gauge, GUM H.1. A microradian of tilt represents a nanometre.
constexpr double kEndGauge_nm[] = {25, 9.7, 2.9, 16.6};
constexpr double kEndGaugeFreedom[] = {18, 25.6, 50, 2};
constexpr double kRadPerNm = 1e-6;

/// An estimated uncertainty with ν degrees of freedom, and a stated term in addition.
TiltAccount account_known_by(double estimated_nm, double nu, double stated_nm) {
  TiltAccount account;
  account.probability = 1;
  account.common = Eigen::VectorXd::Zero(kCommonSize);
  account.covariance = account.known_covariance = Eigen::MatrixXd::Zero(2 + kCommonSize, 2 + kCommonSize);
  account.signal_covariance = Eigen::MatrixXd::Zero(kCommonSize, kCommonSize);
  account.known_covariance(0, 0) = std::pow(stated_nm * kRadPerNm, 2);
  account.covariance(0, 0) = account.known_covariance(0, 0) + std::pow(estimated_nm * kRadPerNm, 2);
  account.degrees_of_freedom = nu;
  return account;
}

/// Least crosstalk at zero with this uncertainty.
CriterionTilt least_known_by(double estimated_nm, double nu, double stated_nm) {
  TiltFit fit;
  fit.gauge = GaugeKnowledge::kEstimated;
  fit.accounts = {account_known_by(estimated_nm, nu, stated_nm)};
  const auto tilt = criterion_tilt(CriterionKind::kLeast, fit);
  REQUIRE(tilt);
  return *tilt;
}

double half_width_nm(const CriterionTilt& tilt) { return radians(0.5 * (tilt.interval95_deg[1] - tilt.interval95_deg[0])) / kRadPerNm; }

}  // namespace

TEST_CASE("The degrees of freedom of a solution reproduce the effective degrees of freedom of GUM H.1, an end gauge") {
  // In a solution one scatter is estimated and the rest is stated. Each of the four terms is the estimated one in turn. 1/ν of the
  // Welch–Satterthwaite formula is the sum of the four results 1/ν, because each of them is (u_i/u)⁴/ν_i.
  double u2 = 0;
  for (const double u : kEndGauge_nm) u2 += u * u;
  double inverse = 0;
  for (int k = 0; k < 4; ++k) {
    const double rest = std::sqrt(u2 - kEndGauge_nm[k] * kEndGauge_nm[k]);
    const TiltAccount account = account_known_by(kEndGauge_nm[k], kEndGaugeFreedom[k], rest);
    inverse += 1 / CriterionAccount(CriterionKind::kLeast, account, RootOf::kTilt, 0)
                       .effective_degrees_of_freedom(criterion_slope(CriterionKind::kLeast, 0, account.shape()), 0);
  }
  CHECK_THAT(std::sqrt(u2), WithinAbs(31.671, 5e-4));
  // Recomputed: 16.7646. From u = 32 nm the GUM's own formula gives 17.5, and the GUM states 16. Both continue with 16 degrees of freedom.
  CHECK_THAT(1 / inverse, WithinAbs(16.76, 5e-3));
  const double k99 = student_quantile(0.995, std::floor(1 / inverse));
  CHECK_THAT(k99, WithinAbs(2.92, 5e-3));
  CHECK_THAT(k99 * 32, WithinAbs(93, 0.5));  // U = 93 nm, from memory
}

TEST_CASE("As in GUM G.4, a solution's interval is Student's at the effective degrees of freedom") {
  // H.1's largest term is estimated, the others are stated: ν = 18·(31.671/25)⁴ = 46.36. Quantiles by R 4.2.2: qt(0.975, c(18, 46.36)).
  const CriterionTilt partly = least_known_by(25, 18, std::sqrt(31.671 * 31.671 - 25 * 25));
  CHECK_THAT(partly.degrees_of_freedom, WithinAbs(46.36, 5e-3));
  CHECK_THAT(half_width_nm(partly), WithinRel(2.01247187615429 * 31.671, 1e-6));
  CHECK_THAT(radians(partly.u_deg) / kRadPerNm,
             WithinRel(31.671, 1e-6));  // the combined standard uncertainty of H.1, not half of U over 1.96
  // If nothing is stated, ν is that of the estimate. The root is found to 1e-12 rad, here a millionth of a nanometre, so 1e-6 leaves a
  // margin.
  const CriterionTilt alone = least_known_by(25, 18, 0);
  CHECK_THAT(alone.degrees_of_freedom, WithinAbs(18, 1e-9));
  CHECK_THAT(half_width_nm(alone), WithinRel(2.10092204024104 * 25, 1e-6));
}
