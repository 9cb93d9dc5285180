#include "solve/magnitude_model.hpp"

#include <algorithm>
#include <cmath>

namespace evenwall {
namespace {

constexpr double kConverged = 1e-10;
constexpr double kLeastLeak = 1e-5;  // −100 dB: no meter reads less, and the logarithm stays finite
// Before anything is read (judgements): a leak's quadrature, the shear, and the bend as in the fit with phases.
constexpr double kQuadratureSpread = 0.1;
constexpr double kShearSpread_rad = 0.1;
constexpr double kUnreadPhase_rad = 1.0;  // no datum reads the phases: any number keeps them
constexpr double kPreamplifierSpread_neper = 0.5;
constexpr double kLeastCut_neper = 1e-6;
constexpr double kLeastScale_u = 1e-7;
constexpr double kFreeScale_u = 10.0;

ResponseShape shape_of(const Eigen::VectorXd& common) {
  return {common[kShear], common[kBend], common[kQuadratureLeft], common[kQuadratureRight]};
}

/// ln|x| of a term with its slopes by (ψ, shape), kept finite.
struct LnSize {
  double value;
  std::array<double, 1 + kShapeSize> slope{};
};

LnSize ln_size(const Response::Term& x) {
  const double square = std::norm(x.value) + kLeastLeak * kLeastLeak;
  LnSize ln{0.5 * std::log(square), {}};
  for (std::size_t k = 0; k < ln.slope.size(); ++k) ln.slope[k] = (std::conj(x.value) * x.slope[k]).real() / square;
  return ln;
}

double u_ln(const Eigen::Matrix2d& covariance, Complex value) { return std::sqrt(0.5 * covariance.trace()) / std::abs(value); }

/// One size: ln|ratio| = gain_sign·(gain) + ln|x|.
void add_size(MagnitudeRows& rows, const MagnitudeLayout& at, Eigen::Index i, const Observation& o, double seen_ln, double u,
              const LnSize& x, double gain_sign, const Eigen::VectorXd& common) {
  std::vector<std::pair<Eigen::Index, double>> by{{i, x.slope[0]}, {at.common(kLnGain), gain_sign}};
  for (int k = 0; k < kShapeSize; ++k) by.emplace_back(at.common(k), x.slope[static_cast<std::size_t>(k) + 1]);
  if (o.leads_swapped) by.emplace_back(at.common(kLnPreamplifier), -2 * gain_sign);
  rows.add(seen_ln - (gain_sign * ln_gain_of(common, o.leads_swapped).real() + x.value), u, by);
}

}  // namespace

void add_step(MagnitudeRows& rows, const MagnitudeLayout& at, Eigen::Index i, const Observation& o, double psi_rad,
              const Eigen::VectorXd& common) {
  const Response r = response_at(psi_rad, shape_of(common));
  add_size(rows, at, i, o, std::log(std::abs(o.right_into_left)), u_ln(o.right_into_left_covariance, o.right_into_left),
           ln_size(quotient(r.left_from_right, r.right_from_right)), 1, common);
  add_size(rows, at, i, o, std::log(std::abs(o.left_into_right)), u_ln(o.left_into_right_covariance, o.left_into_right),
           ln_size(quotient(r.right_from_left, r.left_from_left)), -1, common);
  if (!o.ln_level_ratio) return;
  const LnSize own = ln_size(quotient(r.left_from_left, r.right_from_right));
  std::vector<std::pair<Eigen::Index, double>> by{{i, own.slope[0]}, {at.common(kLnGain), 1}, {at.common(kLnCutRatio), 1}};
  for (int k = 0; k < kShapeSize; ++k) by.emplace_back(at.common(k), own.slope[static_cast<std::size_t>(k) + 1]);
  if (o.leads_swapped) by.emplace_back(at.common(kLnPreamplifier), -2);
  rows.add(*o.ln_level_ratio - (ln_gain_of(common, o.leads_swapped).real() + common[kLnCutRatio] + own.value), o.u_ln_level_ratio, by);
}

MagnitudeRows rows_at(const MagnitudeProblem& problem, const Eigen::VectorXd& unknowns) {
  const MagnitudeLayout at = problem.layout();
  const Eigen::VectorXd common = unknowns.segment(at.steps, kCommonSize);
  MagnitudeRows rows;
  rows.slopes = Eigen::MatrixXd::Zero(4 * at.steps + kCommonSize + 1, at.size());
  rows.residuals = Eigen::VectorXd::Zero(rows.slopes.rows());
  for (Eigen::Index i = 0; i < at.steps; ++i) {
    const Observation& o = problem.observations[static_cast<std::size_t>(i)];
    add_step(rows, at, i, o, unknowns[i], common);
    const double logged_rad = radians(o.logged);
    rows.add(unknowns[at.scale()] * logged_rad - unknowns[at.least()] - unknowns[i], problem.setting_u_rad[i],
             {{i, 1}, {at.scale(), -logged_rad}, {at.least(), 1}});
  }
  const auto prior = [&](int k, double centre, double u) { rows.add(centre - common[k], u, {{at.common(k), 1}}); };
  prior(kShear, 0, kShearSpread_rad);
  prior(kBend, 0, problem.bend_spread_rad);
  prior(kQuadratureLeft, 0, kQuadratureSpread);
  prior(kQuadratureRight, 0, kQuadratureSpread);
  prior(kGainPhase, 0, kUnreadPhase_rad);
  prior(kLnCutRatio, problem.gains.ln_cut_ratio, std::max(problem.gains.u_ln_cut_ratio, kLeastCut_neper));
  prior(kCutPhase, 0, kUnreadPhase_rad);
  prior(kLnPreamplifier, 0, kPreamplifierSpread_neper);
  prior(kPreamplifierPhase, 0, kUnreadPhase_rad);
  const double u_scale = problem.gauge.in_degrees ? std::max(problem.gauge.u_scale, kLeastScale_u) : kFreeScale_u;
  rows.add(problem.gauge.scale_centre - unknowns[at.scale()], u_scale, {{at.scale(), 1}});
  rows.slopes.conservativeResize(rows.used, Eigen::NoChange);
  rows.residuals.conservativeResize(rows.used);
  return rows;
}

double descend(const MagnitudeProblem& problem, Eigen::VectorXd& unknowns, int iterations) {
  double damping = 1e-3;
  MagnitudeRows rows = rows_at(problem, unknowns);
  double chi2 = rows.residuals.squaredNorm();
  for (int iteration = 0; iteration < iterations && damping < 1e12; ++iteration) {
    Eigen::MatrixXd normal = rows.slopes.transpose() * rows.slopes;
    const Eigen::VectorXd pull = rows.slopes.transpose() * rows.residuals;
    normal.diagonal() *= 1 + damping;
    const Eigen::VectorXd tried = unknowns + normal.ldlt().solve(pull);
    MagnitudeRows there = rows_at(problem, tried);
    const double chi2_there = there.residuals.squaredNorm();
    if (!(chi2_there < chi2)) {
      damping *= 8;
      continue;
    }
    const bool done = chi2 - chi2_there < kConverged * (1 + chi2);
    unknowns = tried;
    rows = std::move(there);
    chi2 = chi2_there;
    damping = std::max(1e-12, damping / 8);
    if (done) break;
  }
  return chi2;
}

}  // namespace evenwall
