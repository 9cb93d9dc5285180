// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/lean_priors.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "evenwall/units.hpp"
#include "measure/lean_constants.hpp"
#include "measure/method_constants.hpp"

namespace evenwall::internal::measure {
namespace {

struct WeighedPrior {
  numeric::HarmonicPrior prior;
  double log_weight = 0;
};

std::vector<WeighedPrior> priors_along() {
  std::vector<WeighedPrior> priors;
  for (int i = 0; i < kLeanSizes; ++i) {
    const double share = static_cast<double>(i) / (kLeanSizes - 1);
    const double ln_size = (1 - share) * std::log(kLeanLeast_deg) + share * std::log(kLeanMost_deg);
    const double off = ln_size - std::log(kLeanMiddle_deg);
    const double size = radians(std::exp(ln_size));
    priors.push_back({{size, kWarpFall}, std::log(kWarpFallShare) - 0.5 * off * off});
    priors.push_back({{size, kBumpFall}, std::log(1 - kWarpFallShare) - 0.5 * off * off});
  }
  return priors;
}

SpeedAnswer averaged(const std::vector<WeighedPrior>& priors, const Eigen::MatrixXd& information, const Eigen::VectorXd& pull) {
  std::vector<numeric::HarmonicAnswer> answers;
  std::vector<double> scores;
  for (const WeighedPrior& p : priors) {
    answers.push_back(numeric::harmonic_answer(information, pull, p.prior));
    scores.push_back(p.log_weight + answers.back().log_evidence);
  }
  const auto best = static_cast<std::size_t>(std::max_element(scores.begin(), scores.end()) - scores.begin());
  SpeedAnswer result;
  result.prior = priors[best].prior;
  result.coefficients = answers[best].coefficients;
  result.noise_at_best = answers[best].noise_variance;
  result.prior_at_best = answers[best].prior_variance;
  double all = 0;
  for (std::size_t i = 0; i < answers.size(); ++i) {
    const double share = std::exp(scores[i] - scores[best]);
    all += share;
    result.mean += share * answers[i].coefficients[0];
    result.noise_variance += share * answers[i].noise_variance;
  }
  result.mean /= all;
  result.noise_variance /= all;
  for (std::size_t i = 0; i < answers.size(); ++i) {
    const double off = answers[i].coefficients[0] - result.mean;
    result.groove_variance += kGrooveDoubt * std::exp(scores[i] - scores[best]) / all * (answers[i].prior_variance + off * off);
  }
  result.log_evidence = scores[best] + std::log(all);
  return result;
}

}  // namespace

SpeedAnswer answer_along(const Eigen::MatrixXd& information, const Eigen::VectorXd& pull) {
  static const std::vector<WeighedPrior> priors = priors_along();
  return averaged(priors, information, pull);
}

AcrossAnswer answer_across(const Eigen::MatrixXd& information, const Eigen::VectorXd& pull, const numeric::HarmonicPrior& along,
                           bool direction_seen) {
  std::vector<WeighedPrior> priors;
  for (const double share : {kLeanAcrossLeast, kLeanAcrossSeen, kLeanAcrossUnseen}) {
    if (share == kLeanAcrossUnseen && direction_seen) continue;
    priors.push_back({{share * along.size, along.fall}, 0.0});
  }
  return averaged(priors, information, pull);
}

}  // namespace evenwall::internal::measure
