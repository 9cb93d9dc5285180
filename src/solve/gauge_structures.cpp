// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/gauge_structures.hpp"

#include <algorithm>
#include <cmath>

#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

GaugeErrors with_structure(const GaugeProblem& problem, GaugeStructure structure, double size_rad, double lowering_rad) {
  const double moves = std::sqrt(moves_left(problem));
  switch (structure) {
    case GaugeStructure::kWalk: {
      GaugeErrors errors = problem.errors(0, lowering_rad);
      errors.walk = size_rad / moves;
      return errors;
    }
    case GaugeStructure::kWalkAndSettings: {
      GaugeErrors errors = problem.errors(std::sqrt(0.5) * size_rad, lowering_rad);
      errors.walk = std::sqrt(0.5) * size_rad / moves;
      return errors;
    }
    case GaugeStructure::kBacklash:
    case GaugeStructure::kDrift:
    case GaugeStructure::kIndependent:
      break;
  }
  GaugeErrors errors = problem.errors(size_rad, lowering_rad);
  if (structure == GaugeStructure::kBacklash) errors.backlash = kBacklashSpread_rad;
  if (structure == GaugeStructure::kDrift) errors.drift = kDriftSpread_rad;
  return errors;
}

bool can_be_shown(const GaugeProblem& problem, GaugeStructure structure) {
  const CaptureOrder& order = problem.line().order();
  if (structure == GaugeStructure::kBacklash) return order.shows_direction();
  if (structure != GaugeStructure::kDrift) return true;
  Eigen::VectorXd logged(problem.size());
  for (Eigen::Index i = 0; i < problem.size(); ++i) {
    logged[i] = problem.observations[static_cast<std::size_t>(order.observation[static_cast<std::size_t>(i)])].logged;
  }
  return order.shows_time(logged);
}

/// Directions from which the first setting may have been reached: both, unless the log states one or there is no backlash.
std::vector<double> first_directions(const GaugeProblem& problem, GaugeStructure structure) {
  if (structure != GaugeStructure::kBacklash || problem.line().order().direction[0] != 0) return {0};
  return {-0.5, 0.5};
}

/// Adds the same errors for each of those directions.
void add_each(const GaugeProblem& problem, GaugeStructure structure, GaugeErrors errors, double gauge_u_rad, double log_weight,
              Candidates::Wrong wrong, Candidates& candidates) {
  const auto directions = first_directions(problem, structure);
  for (const double direction : directions) {
    errors.first_direction = direction;
    candidates.add(errors, gauge_u_rad, log_weight - std::log(static_cast<double>(directions.size())), wrong);
  }
}

/// Adds a structure in addition to settings with a stated spread.
void add_stated(const GaugeProblem& problem, GaugeStructure structure, double stated_rad, Candidates& candidates) {
  const auto wrong = problem.settings() <= kStructuresNameUpTo ? Candidates::Wrong::kOne : Candidates::Wrong::kNobody;
  const double moves = std::sqrt(moves_left(problem));
  const double usual_rad = std::sqrt(problem.spreads(stated_rad).cwiseAbs2().mean());  // each step may state its own
  for (const auto& r : problem.lowerings()) {
    GaugeErrors errors = problem.errors(stated_rad, r.rad);
    if (structure == GaugeStructure::kBacklash) errors.backlash = kBacklashSpread_rad;
    if (structure == GaugeStructure::kDrift) errors.drift = kDriftSpread_rad;
    if (structure != GaugeStructure::kWalk) {
      add_each(problem, structure, errors, usual_rad, r.log_weight, wrong, candidates);
      continue;
    }
    for (int i = 0; i < kWalkPoints; ++i) {
      const double share = i / (kWalkPoints - 1.0);
      // For counted turns, the stated uncertainty is the error of one move.
      errors.walk = problem.priors.in_degrees ? radians(kWalkLow_deg * std::pow(kWalkHigh_deg / kWalkLow_deg, share)) / moves
                                              : usual_rad * std::pow(2.0, 2 * share - 1);
      candidates.add(errors, std::hypot(usual_rad, errors.walk * moves), r.log_weight - std::log(kWalkPoints), wrong);
    }
  }
}

/// How far the tilts by the signal depart from the log: the median departure, which one wrong row does not change, plus a small share of
/// the mean.
double straying(const Eigen::VectorXd& psi_rad, const std::vector<Observation>& observations, double scale) {
  std::vector<double> off;
  for (std::size_t i = 0; i < observations.size(); ++i)
    off.push_back(psi_rad[static_cast<Eigen::Index>(i)] - radians(scale * observations[i].logged));
  const auto middle = [](std::vector<double> values) {
    std::nth_element(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2), values.end());
    return values[values.size() / 2];
  };
  const double centre = middle(off);
  double mean = 0;
  for (double& o : off) mean += (o = std::abs(o - centre)) / static_cast<double>(off.size());
  return middle(off) + kStrayingMean * mean;
}

}  // namespace

double moves_left(const GaugeProblem& problem) {
  const CaptureOrder& order = problem.line().order();
  const Eigen::Index n = order.settings;
  Eigen::VectorXd logged(n);
  for (std::size_t i = order.setting.size(); i-- > 0;) {
    logged[order.setting[i]] = problem.observations[static_cast<std::size_t>(order.observation[i])].logged;
  }
  logged.array() -= logged.mean();
  const double length2 = logged.squaredNorm();
  // The walk's covariance of settings s and t is Σ_k move_k·[s ≥ k]·[t ≥ k]. Sum its trace, less the part along the two directions of the
  // line.
  double left = 0, behind = 0;
  for (Eigen::Index k = n; k-- > 0;) {
    behind += logged[k];
    const auto count = static_cast<double>(n - k);
    left += order.move[k] * (count - count * count / static_cast<double>(n) - (length2 > 0 ? behind * behind / length2 : 0.0));
  }
  return left / (static_cast<double>(n) - 2);
}

Candidates structure_candidates(const GaugeProblem& problem, GaugeStructure structure, OptionalNumber stated_rad) {
  Candidates candidates(problem, structure);
  if (!can_be_shown(problem, structure)) return candidates;
  if (stated_rad) {
    if (structure != GaugeStructure::kWalkAndSettings) add_stated(problem, structure, *stated_rad, candidates);
    return candidates;
  }
  const bool few = problem.settings() <= kStructuresNameUpTo;
  const auto& grid = GaugeProblem::grid();
  for (std::size_t g = 0; g < grid.size(); g += few ? 1 : kCoarseGrid) {
    for (const auto& r : problem.lowerings()) {
      add_each(problem, structure, with_structure(problem, structure, grid[g], r.rad), grid[g],
               problem.log_gauge_prior(grid[g]) + r.log_weight + (few ? 0.0 : std::log(static_cast<double>(kCoarseGrid))),
               few ? Candidates::Wrong::kOne : Candidates::Wrong::kNobody, candidates);
    }
  }
  return candidates;
}

WeighedAccounts exchanged_accounts(const GaugeProblem& problem, OptionalNumber stated_rad) {
  WeighedAccounts all(problem.signal);
  const std::size_t n = problem.observations.size();
  if (problem.settings() < kExchangedFrom || problem.settings() > kStructuresNameUpTo || problem.line().repeats() ||
      !problem.priors.in_degrees)
    return all;
  const double before = straying(problem.signal.psi_rad, problem.observations, problem.priors.scale_centre);
  std::vector<Observation> observations = problem.observations;
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t k = i + 1; k < n; ++k) {
      if (observations[i].logged == observations[k].logged) continue;
      std::swap(observations[i].logged, observations[k].logged);
      if (straying(problem.signal.psi_rad, observations, problem.priors.scale_centre) < kExchangeStraightens * before) {
        GaugeProblem other(observations, problem.signal, problem.priors);
        other.rad_per_unit = problem.rad_per_unit;
        Candidates candidates(other);
        const auto add = [&](double u, double log_weight) { candidates.add(other.errors(u), u, log_weight, Candidates::Wrong::kNobody); };
        if (stated_rad) add(*stated_rad, 0);
        for (std::size_t g = 0; !stated_rad && g < GaugeProblem::grid().size(); ++g)
          add(GaugeProblem::grid()[g], other.log_gauge_prior(GaugeProblem::grid()[g]));
        WeighedAccounts accounts = candidates.accounts();
        for (TiltAccount& account : accounts.accounts()) account.exchanged = {i, k};
        accounts.shift(std::log(kExchangedPrior / (0.5 * static_cast<double>(n * (n - 1)))));
        all.append(std::move(accounts));
      }
      std::swap(observations[i].logged, observations[k].logged);
    }
  }
  return all;
}

}  // namespace evenwall::internal::solve
