// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/signal_scale.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "solve/method_constants.hpp"
#include "solve/signal_scale_constants.hpp"

namespace evenwall::internal::solve {
namespace {

/// A normal distribution of κ.
struct Normal {
  double mean, variance;
};

double log_density(double x, double mean, double variance) { return -0.5 * ((x - mean) * (x - mean) / variance + std::log(variance)); }

/// The posterior of κ without its prior. A variance of 0 or less: the steps do not show κ.
Normal without_prior(const TiltAccount& account) {
  const Normal with{account.scale, account.covariance(1, 1)};
  if (!account.scale_prior_used) return with;
  const double prior2 = account.scale_prior->u * account.scale_prior->u;
  const double precision = 1 / with.variance - 1 / prior2;
  if (!(precision * prior2 > kLeastFromSteps)) return {with.mean, 0};
  return {(with.mean / with.variance - account.scale_prior->centre / prior2) / precision, 1 / precision};
}

/// Replaces the prior of κ in the account, and returns the logarithm of new over old evidence.
double exchange_prior(const Normal& prior, TiltAccount& account) {
  const Normal steps = without_prior(account);
  const Normal old{account.scale_prior->centre, account.scale_prior->u * account.scale_prior->u};
  double log_ratio = 0;
  Normal now = prior;
  if (steps.variance > 0) {
    log_ratio = log_density(steps.mean, prior.mean, prior.variance + steps.variance) -
                log_density(steps.mean, old.mean, old.variance + steps.variance);
    now.variance = 1 / (1 / prior.variance + 1 / steps.variance);
    now.mean = now.variance * (prior.mean / prior.variance + steps.mean / steps.variance);
  }
  if (!account.scale_prior_used) return log_ratio;
  const double variance = account.covariance(1, 1);
  const Eigen::VectorXd pulled = account.covariance.col(1) / variance;
  const double moved = now.mean - account.scale;
  const Eigen::MatrixXd wider = (now.variance - variance) * (pulled * pulled.transpose());
  account.least_rad += pulled[0] * moved;
  account.scale += moved;
  account.common += pulled.tail(account.common.size()) * moved;
  account.covariance += wider;
  account.known_covariance += wider;
  return log_ratio;
}

/// Replaces C by A·C·Aᵀ + v·w·wᵀ, with A the unit matrix except for its upper left `onto`, and w zero after its first two elements.
void convert(const Eigen::Matrix2d& onto, const Eigen::Vector2d& by_rest, double variance, Eigen::MatrixXd& covariance) {
  const Eigen::Index rest = covariance.cols() - 2;
  const Eigen::Matrix2d corner = onto * covariance.topLeftCorner<2, 2>() * onto.transpose();
  covariance.topLeftCorner<2, 2>() = corner + variance * (by_rest * by_rest.transpose());
  for (Eigen::Index k = 2; k < 2 + rest; ++k) {
    const Eigen::Vector2d column = covariance.block<2, 1>(0, k);
    covariance.block<2, 1>(0, k) = onto * column;
    covariance.block<1, 2>(k, 0) = covariance.block<2, 1>(0, k).transpose();
  }
}

/// Converts the account to true degrees. given: s for a given κ, with its variance; by_scale: by which it changes with κ.
void to_true_degrees(const Normal& given, double by_scale, TiltAccount& account) {
  const double total = 1 + given.mean;
  const double least = account.least_rad, scale = account.scale;
  Eigen::Matrix2d onto;
  onto << 1 / total, -least * by_scale / (total * total), 0, 1 / total - scale * by_scale / (total * total);
  const Eigen::Vector2d by_rest = -Eigen::Vector2d(least, scale) / (total * total);
  account.u_signal_scale = std::sqrt(std::max(0.0, by_scale * by_scale * account.covariance(1, 1) + given.variance));
  convert(onto, by_rest, given.variance, account.covariance);
  convert(onto, by_rest, given.variance, account.known_covariance);
  account.signal_scale = total;
  account.least_rad = least / total;
  account.scale = scale / total;
}

/// s for the account's κ, and by which it changes with κ. prior: that of κ, with s ~ N(m, v) and k ~ N(c, u²) in it.
void convert_in_case(const SignalScale& scale, const Normal& prior, double k_centre, TiltAccount& account) {
  const double variance = scale.u * scale.u;
  if (scale.s == 0 && variance == 0) return;
  const double by_scale = k_centre * variance / prior.variance;
  Normal given{scale.s + by_scale * (account.scale - prior.mean), variance * (1 - by_scale * k_centre)};
  // A scale so small has no meaning; a stated slope_u of one and more would otherwise divide by zero.
  given.mean = std::max(given.mean, kLeastSignalScale - 1);
  to_true_degrees(given, by_scale, account);
}

/// An account in one case, and the logarithm of its weight.
struct Weighed {
  TiltAccount account;
  double log_weight;
};

Weighed in_case(const SignalScale& scale, std::size_t index, TiltAccount account) {
  account.signal_case = index;
  double log_weight = std::log(account.probability) + std::log(scale.probability);
  const double variance = scale.u * scale.u;
  if (!account.scale_prior) {
    Normal given{std::max(scale.s, kLeastSignalScale - 1), variance};
    if (scale.s != 0 || variance > 0) to_true_degrees(given, 0, account);
  } else if (scale.s != 0 || variance > 0) {
    const double centre = account.scale_prior->centre;
    const Normal prior{centre * (1 + scale.s), account.scale_prior->u * account.scale_prior->u + centre * centre * variance};
    log_weight += exchange_prior(prior, account);
    convert_in_case(scale, prior, centre, account);
  }
  return {std::move(account), log_weight};
}

}  // namespace

std::vector<SignalScale> signal_scales(double slope_u, OptionalNumber third_harmonic_percent) {
  SignalScale compressed{kCompressedPrior, kCompressed, kCompressed_u};
  if (third_harmonic_percent) {
    const double third = 0.01 * *third_harmonic_percent;
    compressed.s = kCompressionPerThird * third;
    compressed.u = kCompressionPerThird_u * third;
    const double beyond = std::max(0.0, third - kUsualThird) / kManyThird;
    compressed.probability += (kCompressedMost - kCompressedPrior) * (1 - std::exp(-beyond * beyond));
  }
  const double common = slope_u / std::numbers::sqrt2;
  compressed.u = std::hypot(compressed.u, common);
  return {{1 - compressed.probability, 0, common}, compressed};
}

double u_turn_scale(OptionalNumber third_harmonic_percent) {
  if (!third_harmonic_percent) return kTurnScale_u;
  return std::max(kTurnScale_u, kTurnScalePerThird * std::min(0.01 * *third_harmonic_percent, kUsualThird));
}

OptionalNumber third_harmonic_percent(const Session& session, double frequency_hz) {
  std::vector<double> all;
  for (const Step& step : session.steps) {
    if (!step.measurement() || step.log.use != StepUse::kYes) continue;
    for (const Passage& p : step.measurement()->passages) {
      if (p.driven != Driven::kLeft && p.driven != Driven::kRight) continue;
      if (!p.third_harmonic_percent || !p.frequency_hz || std::abs(*p.frequency_hz - frequency_hz) > kFrequencyMatch * frequency_hz)
        continue;
      if (*p.third_harmonic_percent >= 0 && *p.third_harmonic_percent <= kMostThird_percent) all.push_back(*p.third_harmonic_percent);
    }
  }
  if (all.empty()) return std::nullopt;
  std::sort(all.begin(), all.end());
  return 0.5 * (all[(all.size() - 1) / 2] + all[all.size() / 2]);
}

void add_signal_scales(const std::vector<SignalScale>& scales, std::vector<TiltAccount>& accounts) {
  if (scales.empty()) return;
  std::vector<Weighed> split;
  for (TiltAccount& account : accounts) {
    const auto known = account.scale_prior ? account.scale_prior->of_case : std::nullopt;
    if (known) {
      const double log_weight = std::log(account.probability);
      account.signal_case = known->index;
      const Normal prior{account.scale_prior->centre, account.scale_prior->u * account.scale_prior->u};
      convert_in_case(scales[known->index], prior, known->k_centre, account);
      split.push_back({std::move(account), log_weight});
      continue;
    }
    for (std::size_t i = 0; i < scales.size(); ++i) {
      if (i == 0 || account.probability * scales[i].probability > kLeastSignalCase) split.push_back(in_case(scales[i], i, account));
    }
  }
  double largest = -HUGE_VAL, sum = 0;
  for (const Weighed& w : split) largest = std::max(largest, w.log_weight);
  for (Weighed& w : split) sum += w.account.probability = std::exp(w.log_weight - largest);
  if (!(sum > 0)) throw_no_numbers();
  accounts.clear();
  for (Weighed& w : split) {
    w.account.probability /= sum;
    accounts.push_back(std::move(w.account));
  }
}

std::size_t likely_signal_case(const std::vector<TiltAccount>& accounts) {
  std::vector<double> probability(1);
  for (const TiltAccount& account : accounts) {
    if (!account.scale_prior || !account.scale_prior->of_case) continue;
    const std::size_t index = account.scale_prior->of_case->index;
    probability.resize(std::max(probability.size(), index + 1));
    probability[index] += account.probability;
  }
  return static_cast<std::size_t>(std::max_element(probability.begin(), probability.end()) - probability.begin());
}

std::vector<SignalScale> learnt_scales(const std::vector<TiltAccount>& accounts) {
  std::vector<std::vector<TiltAccount>> of_case;
  for (const TiltAccount& account : accounts) {
    of_case.resize(std::max(of_case.size(), account.signal_case + 1));
    of_case[account.signal_case].push_back(account);
  }
  std::vector<SignalScale> scales;
  for (const auto& some : of_case) {
    if (!some.empty()) scales.push_back(overall_scale(some));
  }
  return scales;
}

SignalScale overall_scale(const std::vector<TiltAccount>& accounts) {
  SignalScale all{};
  double squares = 0;
  for (const TiltAccount& a : accounts) {
    const double s = a.signal_scale - 1;
    all.probability += a.probability;
    all.s += a.probability * s;
    squares += a.probability * (s * s + a.u_signal_scale * a.u_signal_scale);
  }
  if (!(all.probability > 0)) return {};
  all.s /= all.probability;
  all.u = std::sqrt(std::max(0.0, squares / all.probability - all.s * all.s));
  return all;
}

}  // namespace evenwall::internal::solve
