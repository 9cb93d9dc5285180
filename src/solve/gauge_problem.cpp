// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/gauge_problem.hpp"

#include <cmath>

#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

std::vector<GaugeProblem::Lowering> lowerings_of(const GaugeLine& line, double signal_variance) {
  if (!line.repeats()) return {{0, 0}};
  std::vector<GaugeProblem::Lowering> all{{0, std::log(kNoLowering)}};
  double sum = 0;
  for (int i = 0; i < kLoweringPoints; ++i) {
    const double rad = radians(kLoweringLow_deg * std::pow(kLoweringHigh_deg / kLoweringLow_deg, i / (kLoweringPoints - 1.0)));
    all.push_back({rad, rad * rad / (signal_variance + rad * rad)});
    sum += all.back().log_weight;
  }
  for (std::size_t i = 1; i < all.size(); ++i) all[i].log_weight = std::log((1 - kNoLowering) * all[i].log_weight / sum);
  return all;
}

}  // namespace

GaugeProblem::GaugeProblem(const std::vector<Observation>& all, const SignalFit& fitted, const GaugePriors& known)
    : observations(all),
      signal(fitted),
      priors(known),
      line_(all, fitted),
      mean_signal_variance_(fitted.covariance.variances().head(line_.size()).mean()),
      lowerings_(lowerings_of(line_, mean_signal_variance_)) {
  double sum = 0;
  for (const double g : grid()) sum += std::exp(log_gauge_prior(g));
  log_grid_weights_ = std::log(sum);
}

ScalePrior GaugeProblem::in_case(const ScalePrior& gauge, std::size_t signal_case) const {
  if (signal_case >= priors.signal_scales.size()) return gauge;
  const SignalScale& of_signal = priors.signal_scales[signal_case];
  return {gauge.centre * (1 + of_signal.s), std::hypot(gauge.u, gauge.centre * of_signal.u),
          ScalePrior::Case{signal_case, gauge.centre, gauge.u}};
}

std::optional<ScalePrior> GaugeProblem::scale_prior() const {
  if (!priors.in_degrees) return std::nullopt;
  return in_case({priors.scale_centre, std::max(priors.u_scale, kLeastScale_u)}, supposed_case_);
}

std::vector<GaugeProblem::WeighedScale> GaugeProblem::gauge_scale_priors() const {
  if (!priors.in_degrees) return {{std::nullopt, 0}};
  const ScalePrior usual{priors.scale_centre, std::max(priors.u_scale, kLeastScale_u)};
  if (priors.scale_stated) return {{usual, 0}};
  const double other_unit = settings() >= kOtherUnitFrom ? kOtherUnit : 0.0;
  std::vector<WeighedScale> all{{usual, std::log(1 - kOffsetAxis - other_unit)},
                                {ScalePrior{kOffsetAxisScale * usual.centre, kOffsetAxisScale_u}, std::log(kOffsetAxis)}};
  if (other_unit > 0) all.push_back({ScalePrior{usual.centre, kOtherUnit_u}, std::log(other_unit)});
  return all;
}

std::vector<GaugeProblem::WeighedScale> GaugeProblem::scale_priors() const {
  std::vector<WeighedScale> all = gauge_scale_priors();
  if (!all.front().prior || priors.signal_scales.empty()) return all;
  const WeighedScale usual = all.front();
  for (WeighedScale& scale : all) scale.prior = in_case(*scale.prior, 0);
  all.front().log_weight += std::log(priors.signal_scales.front().probability);
  for (std::size_t k = 1; k < priors.signal_scales.size(); ++k) {
    all.push_back({in_case(*usual.prior, k), usual.log_weight + std::log(priors.signal_scales[k].probability)});
  }
  return all;
}

Eigen::VectorXd GaugeProblem::spreads(double general_rad) const {
  Eigen::VectorXd u(size());
  for (Eigen::Index i = 0; i < size(); ++i) {
    const auto& own = observations[static_cast<std::size_t>(i)].gauge_u;
    u[i] = std::max(kLeastGauge_rad, own ? *own * rad_per_unit : general_rad);
  }
  return u;
}

GaugeErrors GaugeProblem::errors(double general_rad, double lowering_rad) const {
  return {spreads(general_rad), Eigen::VectorXd::Constant(size(), lowering_rad)};
}

bool GaugeProblem::spread_of_log() const {
  const auto differs = [&](const Observation& o) { return o.logged != observations.front().logged; };
  return std::any_of(observations.begin(), observations.end(), differs);
}

double GaugeProblem::log_prior(std::size_t wrong) const {
  if (wrong > 0) return static_cast<double>(wrong) * std::log(kProbabilityWrong);
  return std::log(std::max(0.5, 1 - static_cast<double>(settings()) * kProbabilityWrong));
}

double GaugeProblem::log_gauge_prior(double u_rad) const {
  // Flat in the logarithm of u above the signal's own uncertainty (Jeffreys); large values are less probable.
  const double usual = u_rad / kUsualGauge_rad;
  return std::log(u_rad * u_rad / (mean_signal_variance_ + u_rad * u_rad) / (1 + usual * usual)) - log_grid_weights_;
}

const std::vector<double>& GaugeProblem::grid() {
  static const std::vector<double> kGrid = [] {
    std::vector<double> grid{kLeastGauge_rad};
    for (int i = 0; i < kGaugeGridPoints; ++i) {
      grid.push_back(radians(kGaugeGridLow_deg * std::pow(kGaugeGridHigh_deg / kGaugeGridLow_deg, i / (kGaugeGridPoints - 1.0))));
    }
    return grid;
  }();
  return kGrid;
}

const GaugeProblem::OnGrid& GaugeProblem::likeliest_on_grid() {
  const auto prior = scale_prior();
  const auto evidence = [&](const OnGrid& g) { return g.system.with(prior).log_evidence() + g.log_weight; };
  const auto& grid = on_grid();
  std::size_t best = 0;
  double largest = -HUGE_VAL;
  for (std::size_t g = 0; g < grid.size(); ++g) {
    const double here = evidence(grid[g]);
    if (!(here > largest)) continue;
    largest = here;
    best = g;
  }
  return grid[best];
}

double GaugeProblem::likely_lowering_rad() {
  if (!line_.repeats()) return 0;
  if (priors.lowering_rad) return *priors.lowering_rad;
  return likeliest_on_grid().lowering_rad;
}

std::vector<GaugeProblem::OnGrid>& GaugeProblem::on_grid() {
  if (!on_grid_.empty()) return on_grid_;
  for (const double u : grid()) {
    for (const Lowering& r : lowerings_) on_grid_.push_back({u, r.rad, log_gauge_prior(u) + r.log_weight, system(errors(u, r.rad))});
  }
  return on_grid_;
}

}  // namespace evenwall::internal::solve
