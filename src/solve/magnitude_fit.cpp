// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/magnitude_fit.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>

#include "numeric/distributions.hpp"
#include "solve/magnitude_model.hpp"
#include "solve/method_constants.hpp"
#include "solve/signal_scale.hpp"

namespace evenwall::internal::solve {
namespace {

MagnitudeProblem problem_of(const std::vector<Observation>& observations, const GainPriors& gains, const GaugePriors& gauge) {
  MagnitudeProblem problem{observations, gains, gauge, Eigen::VectorXd(static_cast<Eigen::Index>(observations.size())),
                           kLeastBendSpread_rad};
  for (std::size_t i = 0; i < observations.size(); ++i) {
    const double own_deg = observations[i].gauge_u.value_or(gauge.u_deg.value_or(gauge.in_degrees ? kAssumedGauge_deg : 0.0));
    problem.setting_u_rad[static_cast<Eigen::Index>(i)] = std::max(kSizesLeastGauge_rad, radians(own_deg));
  }
  return problem;
}

/// Tries every start: few, noisy magnitudes may not show which of the two parabolas lies to the left.
Eigen::VectorXd best_of_starts(const MagnitudeProblem& problem) {
  const MagnitudeLayout at = problem.layout();
  const auto& all = problem.observations;
  double ln_gain = 0;
  double smallest = 1;
  for (const Observation& o : all) {
    ln_gain += 0.5 * (std::log(std::abs(o.right_into_left)) - std::log(std::abs(o.left_into_right))) / static_cast<double>(all.size());
    smallest = std::min({smallest, std::abs(o.right_into_left), std::abs(o.left_into_right)});
  }
  Eigen::VectorXd best;
  double least_chi2 = HUGE_VAL;
  const double low = radians(all.front().logged), high = radians(all.back().logged);
  for (int position = -1; position <= 5; ++position) {
    for (const double shear_deg : {-1.5, 0.0, 1.5}) {
      Eigen::VectorXd unknowns = Eigen::VectorXd::Zero(at.size());
      unknowns[at.scale()] = problem.gauge.scale_centre;
      unknowns[at.least()] = problem.gauge.scale_centre * (low + (high - low) * position / 4);
      unknowns[at.common(kLnGain)] = ln_gain;
      unknowns[at.common(kShear)] = radians(shear_deg);
      unknowns[at.common(kQuadratureLeft)] = unknowns[at.common(kQuadratureRight)] = std::max(0.5 * smallest, kWideQuadrature);
      for (Eigen::Index i = 0; i < at.steps; ++i) {
        unknowns[i] = problem.gauge.scale_centre * radians(all[static_cast<std::size_t>(i)].logged) - unknowns[at.least()];
      }
      const double chi2 = descend(problem, unknowns, kSizesFirstLook);
      if (chi2 < least_chi2) std::tie(best, least_chi2) = std::tuple(unknowns, chi2);
    }
  }
  return best;
}

/// The start for all steps, as found from the steps of these rows.
Eigen::VectorXd start_by(const MagnitudeProblem& problem, const std::vector<std::size_t>& rows) {
  std::vector<Observation> some;
  MagnitudeProblem part{some, problem.gains, problem.gauge, Eigen::VectorXd(static_cast<Eigen::Index>(rows.size())),
                        problem.bend_spread_rad};
  for (std::size_t k = 0; k < rows.size(); ++k) {
    some.push_back(problem.observations[rows[k]]);
    part.setting_u_rad[static_cast<Eigen::Index>(k)] = problem.setting_u_rad[static_cast<Eigen::Index>(rows[k])];
  }
  const Eigen::VectorXd found = best_of_starts(part);
  const MagnitudeLayout from = part.layout(), at = problem.layout();
  Eigen::VectorXd unknowns(at.size());
  unknowns.tail(kSharedSize) = found.tail(kSharedSize);
  for (Eigen::Index i = 0; i < at.steps; ++i) {
    unknowns[i] = found[from.scale()] * radians(problem.observations[static_cast<std::size_t>(i)].logged) - found[from.least()];
  }
  return unknowns;
}

/// The best start. Of many steps, some that lie evenly over the log determine it. `without`: a row that is not used.
Eigen::VectorXd best_start(const MagnitudeProblem& problem, std::optional<std::size_t> without = std::nullopt) {
  std::vector<std::size_t> rows;
  for (std::size_t i = 0; i < problem.observations.size(); ++i) {
    if (i != without) rows.push_back(i);
  }
  if (rows.size() <= kSizesStartSteps && !without) return best_of_starts(problem);
  std::vector<std::size_t> some;
  const std::size_t wanted = std::min(rows.size(), kSizesStartSteps);
  for (std::size_t k = 0; k < wanted; ++k) some.push_back(rows[k * (rows.size() - 1) / (wanted - 1)]);
  return start_by(problem, some);
}

struct Descended {
  Eigen::VectorXd unknowns;
  Eigen::MatrixXd shared_covariance;  ///< of the common unknowns, φ0, k
  double chi2 = 0;
  double log_evidence = 0;  ///< by Laplace
  double degrees_of_freedom = 0;
};

Descended descended(const MagnitudeProblem& problem, Eigen::VectorXd unknowns) {
  const MagnitudeLayout at = problem.layout();
  Descended d;
  d.chi2 = descend(problem, unknowns);
  // No datum determines the signs of the quadratures. They are set positive.
  for (const int k : {kQuadratureLeft, kQuadratureRight}) unknowns[at.common(k)] = std::abs(unknowns[at.common(k)]);
  numeric::ArrowFit fit = equations_at(problem, unknowns).fit(0);
  d.shared_covariance = fit.covariance().bottom_right_corner(kSharedSize);
  d.log_evidence = -0.5 * (d.chi2 + fit.log_determinant()) - problem.setting_u_rad.array().log().sum();
  d.degrees_of_freedom = static_cast<double>(fit.rows() - at.size());
  d.unknowns = std::move(unknowns);
  return d;
}

TiltAccount account_of(const MagnitudeProblem& problem, const Descended& d) {
  const MagnitudeLayout at = problem.layout();
  TiltAccount account;
  account.probability = 1;
  if (problem.gauge.in_degrees)
    account.scale_prior = ScalePrior{problem.gauge.scale_centre, std::max(problem.gauge.u_scale, kLeastScale_u)};
  account.scale_prior_used = problem.gauge.in_degrees;
  account.least_rad = d.unknowns[at.least()];
  account.scale = d.unknowns[at.scale()];
  account.common = d.unknowns.segment(at.steps, kCommonSize);
  std::vector<Eigen::Index> order(2 + kCommonSize);
  std::iota(order.begin(), order.begin() + 2, Eigen::Index{kCommonSize});  // φ0 and k first
  std::iota(order.begin() + 2, order.end(), Eigen::Index{0});
  account.covariance = d.shared_covariance(order, order);
  account.known_covariance = Eigen::MatrixXd::Zero(2 + kCommonSize, 2 + kCommonSize);
  account.signal_covariance = account.covariance.bottomRightCorner(kCommonSize, kCommonSize);
  account.gauge_u_rad = std::sqrt(problem.setting_u_rad.cwiseAbs2().mean());
  return account;
}

/// Sets the tilt of each step by its own magnitudes, without the influence of the log.
void set_signal(const MagnitudeProblem& problem, const Descended& d, SignalFit& signal) {
  const MagnitudeLayout at = problem.layout();
  signal.common = d.unknowns.segment(at.steps, kCommonSize);
  signal.psi_rad = d.unknowns.head(at.steps);
  Eigen::VectorXd own = Eigen::VectorXd::Zero(at.steps + kCommonSize);
  signal.chi2 = d.chi2;
  signal.degrees_of_freedom = d.degrees_of_freedom;
  for (Eigen::Index i = 0; i < at.steps; ++i) {
    double information = 0;
    for (int iteration = 0; iteration < 8; ++iteration) {
      std::vector<MagnitudeRow> rows;
      add_step(rows, problem.observations[static_cast<std::size_t>(i)], signal.psi_rad[i], signal.common);
      information = 0;
      double pull = 0;
      for (const MagnitudeRow& row : rows) {
        information += row.own_slope * row.own_slope;
        pull += row.own_slope * row.residual;
      }
      if (!(information > 0)) break;
      const double step = pull / information;
      signal.psi_rad[i] += std::clamp(step, -radians(0.3), radians(0.3));
    }
    own[i] = information > 0 ? std::min(1 / information, 1.0) : 1.0;
  }
  const numeric::SharedCovariance common(d.shared_covariance.topLeftCorner(kCommonSize, kCommonSize));
  Eigen::MatrixXd root = Eigen::MatrixXd::Zero(at.steps + kCommonSize, common.root().cols());
  root.bottomRows(kCommonSize) = common.root();
  signal.covariance = {std::move(own), std::move(root)};
}

/// The row with the smallest magnitude. A logarithm near a null can hold the fit in a local minimum.
std::size_t deepest_row(const std::vector<Observation>& observations) {
  const auto least = [](const Observation& o) { return std::min(std::abs(o.right_into_left), std::abs(o.left_into_right)); };
  const auto deepest =
      std::min_element(observations.begin(), observations.end(), [&](const auto& a, const auto& b) { return least(a) < least(b); });
  return static_cast<std::size_t>(deepest - observations.begin());
}

/// The fit with no step logged wrong. Sets the bend's spread from the shear of a first descent.
Descended nobody_wrong(MagnitudeProblem& problem) {
  const Descended first = descended(problem, best_start(problem));
  problem.bend_spread_rad = std::hypot(kLeastBendSpread_rad, first.unknowns[problem.layout().common(kShear)]);
  Descended found = descended(problem, first.unknowns);
  const bool misfit = found.degrees_of_freedom > 0 && numeric::chi_square_upper(found.chi2, found.degrees_of_freedom) < kSizesMisfit;
  if (!misfit || problem.observations.size() < kSizesNamedFrom) return found;
  Descended again = descended(problem, best_start(problem, deepest_row(problem.observations)));
  return again.chi2 < found.chi2 ? again : found;
}

}  // namespace

SignalFit magnitude_signal(const std::vector<Observation>& observations, const GainPriors& gains, const GaugePriors& gauge) {
  MagnitudeProblem problem = problem_of(observations, gains, gauge);
  SignalFit signal;
  set_signal(problem, nobody_wrong(problem), signal);
  return signal;
}

TiltAccount magnitudes_as_stated(const std::vector<Observation>& observations, const GainPriors& gains, const GaugePriors& gauge,
                                 const TiltAccount& near) {
  const MagnitudeProblem problem = problem_of(observations, gains, gauge);
  const MagnitudeLayout at = problem.layout();
  Eigen::VectorXd unknowns(at.size());
  for (Eigen::Index i = 0; i < at.steps; ++i) {
    unknowns[i] = near.scale * radians(observations[static_cast<std::size_t>(i)].logged) - near.least_rad;
  }
  unknowns.segment(at.steps, kCommonSize) = near.common;
  unknowns[at.least()] = near.least_rad;
  unknowns[at.scale()] = near.scale;
  return account_of(problem, descended(problem, unknowns));
}

MagnitudeFit fit_magnitudes(const std::vector<Observation>& observations, const GainPriors& gains, const GaugePriors& gauge) {
  assert(observations.size() >= 3);
  MagnitudeProblem problem = problem_of(observations, gains, gauge);
  const Descended first = nobody_wrong(problem);
  MagnitudeFit fit;
  set_signal(problem, first, fit.signal);
  std::vector<std::pair<std::optional<std::size_t>, Descended>> accounts{{std::nullopt, first}};
  std::vector<double> log_weight{first.log_evidence};
  if (observations.size() >= kSizesNamedFrom) {
    for (std::size_t j = 0; j < observations.size(); ++j) {
      MagnitudeProblem wrong = problem;
      auto& u = wrong.setting_u_rad[static_cast<Eigen::Index>(j)];
      u = std::hypot(u, kWrongSpread_rad);
      accounts.emplace_back(j, descended(wrong, first.unknowns));
      log_weight.push_back(std::log(kProbabilityWrong) + accounts.back().second.log_evidence);
    }
  }
  const double largest = *std::max_element(log_weight.begin(), log_weight.end());
  double total = 0;
  for (const double w : log_weight) total += std::exp(w - largest);
  for (std::size_t a = 0; a < accounts.size(); ++a) {
    TiltAccount account = account_of(problem, accounts[a].second);
    if (accounts[a].first) account.wrong = {*accounts[a].first};
    account.probability = std::exp(log_weight[a] - largest) / total;
    fit.tilt.accounts.push_back(std::move(account));
  }
  // Priors count as data, in chi-square and in its degrees of freedom. The misfit therefore tests the meter's stated uncertainty.
  const Descended& likeliest =
      accounts[static_cast<std::size_t>(std::max_element(log_weight.begin(), log_weight.end()) - log_weight.begin())].second;
  fit.tilt.stated_p_value =
      likeliest.degrees_of_freedom > 0 ? numeric::chi_square_upper(likeliest.chi2, likeliest.degrees_of_freedom) : 1.0;
  if (fit.tilt.stated_p_value < kSizesMisfit) {
    for (TiltAccount& account : fit.tilt.accounts) {
      account.covariance *= likeliest.chi2 / likeliest.degrees_of_freedom;
      account.signal_covariance *= likeliest.chi2 / likeliest.degrees_of_freedom;
    }
  }
  add_signal_scales(gauge.signal_scales, fit.tilt.accounts);
  fit.tilt.settings = observations.size();
  fit.tilt.gauge = gauge.u_deg ? GaugeKnowledge::kStated : GaugeKnowledge::kAssumed;
  const double u_rad = radians(std::hypot(gauge.u_zero_deg, gauge.u_record_deg));
  for (TiltAccount& account : fit.tilt.accounts) {
    account.covariance(0, 0) += u_rad * u_rad;
    account.known_covariance(0, 0) += u_rad * u_rad;
  }
  return fit;
}

}  // namespace evenwall::internal::solve
