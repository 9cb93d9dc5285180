// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/slope_doubt.hpp"

#include "evenwall/error.hpp"
#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

/// Crosstalk with slopes that are wrong by these shares, written without any matrix.
struct Slopes {
  Complex off_left, off_right;
  double shear = 0.06, quadrature_left = 0.004, quadrature_right = -0.003;
  [[nodiscard]] Complex right_into_left(double psi) const { return psi * (1.0 + off_left) + Complex(shear, quadrature_left); }
  [[nodiscard]] Complex left_into_right(double psi) const { return -psi * (1.0 + off_right) + Complex(shear, quadrature_right); }
  /// Minimum of the sum of squares, by its zero derivative.
  [[nodiscard]] double least_rad() const {
    const Complex a = 1.0 + off_left, b = -(1.0 + off_right);
    return -(std::conj(a) * right_into_left(0) + std::conj(b) * left_into_right(0)).real() / (std::norm(a) + std::norm(b));
  }
  /// The tilt at which both magnitudes are equal, by bisection.
  [[nodiscard]] double equal_rad() const {
    double low = -0.05, high = 0.05;
    for (int i = 0; i < 60; ++i) {
      const double middle = 0.5 * (low + high);
      (std::norm(right_into_left(middle)) < std::norm(left_into_right(middle)) ? low : high) = middle;
    }
    return 0.5 * (low + high);
  }
};

}  // namespace

TEST_CASE("Wrong slopes move least and equal crosstalk by as much as the slope uncertainty allows for") {
  const Slopes shear_alone, with_quadrature{{}, {}, 0.03, 0.04, 0.03};
  for (const Slopes& of_cartridge : {shear_alone, with_quadrature}) {
    rig::Draw draw(8);
    constexpr double kSlope_u = 0.01;
    double squares = 0, equal_squares = 0;
    constexpr int kDraws = 400;
    for (int round = 0; round < kDraws; ++round) {
      Slopes slopes = of_cartridge;
      slopes.off_left = kSlope_u * Complex(draw.normal(), draw.normal());
      slopes.off_right = kSlope_u * Complex(draw.normal(), draw.normal());
      std::vector<Observation> all;
      for (int i = 0; i < 5; ++i) {
        const double tilt_rad = radians(-2.0 + i);
        Observation o;
        o.right_into_left = slopes.right_into_left(tilt_rad);
        o.left_into_right = slopes.left_into_right(tilt_rad);
        o.right_into_left_covariance = o.left_into_right_covariance = 1e-10 * Eigen::Matrix2d::Identity();
        o.right_degrees_of_freedom = o.left_degrees_of_freedom = 1000;
        all.push_back(o);
      }
      const SignalFit fit = fit_signal(all, {0, 0.035, 0});
      // The tilt at which the fit has least crosstalk, by the straight line through its tilts.
      const double found = -(fit.psi_rad.mean()) / ((fit.psi_rad[4] - fit.psi_rad[0]) / radians(4.0));
      squares += std::pow(found - slopes.least_rad(), 2) / kDraws;
      // Equal crosstalk of the fitted response lies at ψ ≈ −(s_L² − s_R²)/(4σ).
      const double of_left = fit.common[kQuadratureLeft], of_right = fit.common[kQuadratureRight];
      const double equal = found - (of_left * of_left - of_right * of_right) / (4 * fit.common[kShear]);
      equal_squares += std::pow(equal - slopes.equal_rad(), 2) / kDraws;
    }
    TiltAccount account;
    account.common = Eigen::VectorXd::Zero(kCommonSize);
    account.common[kShear] = of_cartridge.shear;
    account.common[kQuadratureLeft] = of_cartridge.quadrature_left;
    account.common[kQuadratureRight] = of_cartridge.quadrature_right;
    INFO("shear " << of_cartridge.shear << ", quadrature " << of_cartridge.quadrature_left);
    // 400 draws determine a root mean square to 3.5 %; the straight line contains the cubes of 2°.
    CHECK_THAT(std::sqrt(squares), WithinRel(slope_doubt_rad(CriterionKind::kLeast, kSlope_u, 0, account), 0.12));
    CHECK_THAT(std::sqrt(equal_squares), WithinRel(slope_doubt_rad(CriterionKind::kEqual, kSlope_u, 0, account), 0.12));
    CHECK(slope_doubt_rad(CriterionKind::kPhase, kSlope_u, 0, account) == 0);
  }
}

TEST_CASE("A stated slope uncertainty widens the answer and is listed in its budget") {
  rig::Draw draw(4);
  Session session = session_of(rig::random_rig(draw), {-2, -1, 0, 1, 2}, 1e-4, draw, 0.01);
  const Solution without = solve(session, {});
  session.facts.slope_u = 0.02;
  const Solution with = solve(session, {});
  // The log shows a little of the signal's scale.
  CHECK_THAT(with.least_crosstalk.tilt_deg, WithinAbs(without.least_crosstalk.tilt_deg, 0.1 * without.least_crosstalk.u_deg));
  const auto more = [](double u_with, double u_without) { return std::sqrt(u_with * u_with - u_without * u_without); };
  REQUIRE(with.recommended.basis == Basis::kEqualCrosstalk);
  const double more_deg = more(with.recommended.u_deg, without.recommended.u_deg);
  CHECK(more_deg < more(with.least_crosstalk.u_deg, without.least_crosstalk.u_deg));
  const auto term = std::find_if(with.uncertainty.begin(), with.uncertainty.end(),
                                 [](const UncertaintyTerm& t) { return t.source == "slopes of the response"; });
  REQUIRE(term != with.uncertainty.end());
  CHECK(term->common);
  CHECK_THAT(term->u_deg, WithinRel(more_deg, 0.05));
  CHECK(std::none_of(without.uncertainty.begin(), without.uncertainty.end(),
                     [](const UncertaintyTerm& t) { return t.source == "slopes of the response"; }));
}

TEST_CASE("Slopes with another phase do not contradict each other if their uncertainty is stated, and a wrong recording still does") {
  rig::Draw draw(31);
  int unstated = 0, stated = 0, wrong_seen = 0;
  constexpr int kSessions = 60;
  constexpr double kSlope_u = 0.01;
  for (int i = 0; i < kSessions; ++i) {
    const rig::Rig r = rig::random_rig(draw);
    const double least = rig::least_truth_deg(r), of_left = kSlope_u * draw.normal(), of_right = kSlope_u * draw.normal();
    const std::vector<double> tilts{-3, -2, -1, 0, 1, 2, 3};
    Session session = session_of(r, tilts, 1e-4, draw, 0.01);
    for (std::size_t k = 0; k < tilts.size(); ++k) {
      const Complex across(0, radians(tilts[k] - least));
      Measurement& m = measurement_of(session.steps[k]);
      const Complex gain = r.gain_left / r.gain_right;
      shift_leak(*m.crosstalk.right_into_left, of_left * across * gain);
      shift_leak(*m.crosstalk.left_into_right, -of_right * across / gain);
      m.crosstalk_spectrum = {m.crosstalk};
    }
    const auto contradicts = [](const Session& of) {
      try {
        const Warnings warnings = solve(of, {}).warnings;
        return says(warnings, WarningCode::kStepsContradict) || says(warnings, WarningCode::kLeaksOff) ||
               says(warnings, WarningCode::kRecordingsDiffer);
      } catch (const Error&) {
        return true;  // refused
      }
    };
    unstated += contradicts(session) ? 1 : 0;
    session.facts.slope_u = kSlope_u;
    stated += contradicts(session) ? 1 : 0;
    Measurement& wrong = measurement_of(session.steps[2]);
    shift_leak(*wrong.crosstalk.right_into_left, 0.05);
    shift_leak(*wrong.crosstalk.left_into_right, 0.05);
    wrong.crosstalk_spectrum = {wrong.crosstalk};
    wrong_seen += contradicts(session) ? 1 : 0;
  }
  INFO(unstated << " contradict without slope_u, " << stated << " with it; " << wrong_seen << " wrong recordings are seen");
  CHECK(unstated > kSessions / 4);
  CHECK(stated <= kSessions / 20);
  CHECK(wrong_seen == kSessions);
}
