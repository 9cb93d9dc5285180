// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/odd_steps.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>

#include "evenwall/error.hpp"
#include "numeric/robust_regression.hpp"
#include "solve/agreement.hpp"
#include "solve/method_constants.hpp"
#include "solve/whitening.hpp"

namespace evenwall::internal::solve {
namespace {

Rows without(const Rows& rows, std::size_t row) {
  Rows rest;
  std::copy_if(rows.begin(), rows.end(), std::back_inserter(rest), [&](std::size_t r) { return r != row; });
  return rest;
}

/// The ratios that the fit predicts for observation `s`.
PredictedRatios modelled(const SignalFit& fit, std::size_t s, bool leads_swapped) {
  const Complex gain = std::exp(ln_gain_of(fit.common, leads_swapped) - ln_gain_of(fit.common, false) + fit.own_gain(s));
  const PredictedRatios straight = predicted_ratios(fit.psi_rad[static_cast<Eigen::Index>(s)], fit.common);
  return {gain * straight.right_into_left, straight.left_into_right / gain};
}

double unexplained(const std::vector<Observation>& observations, const SignalFit& fit) {
  Complex mean_rl, mean_lr;
  const auto n = static_cast<double>(observations.size());
  for (const Observation& o : observations) mean_rl += o.right_into_left / n, mean_lr += o.left_into_right / n;
  double left = 0, spread = 0;
  for (std::size_t s = 0; s < observations.size(); ++s) {
    const Observation& o = observations[s];
    const PredictedRatios model = modelled(fit, s, o.leads_swapped);
    left += std::norm(o.right_into_left - model.right_into_left) + std::norm(o.left_into_right - model.left_into_right);
    spread += std::norm(o.right_into_left - mean_rl) + std::norm(o.left_into_right - mean_lr);
  }
  return left > 0 ? std::sqrt(left / spread) : 0.0;
}

double misfit(Complex seen, Complex model, const Eigen::Matrix2d& covariance) {
  const Complex off = seen - model;
  const Whitening w = whitening(covariance);
  return std::norm(Complex(w.re_re * off.real(), w.im_re * off.real() + w.im_im * off.imag()));
}

/// Chi-square of each step's crosstalk about the fit.
std::vector<double> misfits(const std::vector<Observation>& leaks, const SignalFit& fit) {
  std::vector<double> all;
  for (std::size_t s = 0; s < leaks.size(); ++s) {
    const PredictedRatios model = modelled(fit, s, leaks[s].leads_swapped);
    all.push_back(misfit(leaks[s].right_into_left, model.right_into_left, leaks[s].right_into_left_covariance) +
                  misfit(leaks[s].left_into_right, model.left_into_right, leaks[s].left_into_right_covariance));
  }
  return all;
}

/// Distance of each step's crosstalk from the median. It shows wrong steps that pull the fit to themselves and so have a small chi-square.
std::vector<double> distances(const std::vector<Observation>& leaks) {
  std::vector<double> re_rl, im_rl, re_lr, im_lr;
  for (const Observation& o : leaks) {
    re_rl.push_back(o.right_into_left.real()), im_rl.push_back(o.right_into_left.imag());
    re_lr.push_back(o.left_into_right.real()), im_lr.push_back(o.left_into_right.imag());
  }
  const Complex rl(numeric::median(re_rl), numeric::median(im_rl));
  const Complex lr(numeric::median(re_lr), numeric::median(im_lr));
  std::vector<double> all;
  for (const Observation& o : leaks) all.push_back(std::max(std::abs(o.right_into_left - rl), std::abs(o.left_into_right - lr)));
  return all;
}

/// Positions of the steps to try. Of many steps, those with the largest chi-squares and those with the largest distances.
Rows candidates(const std::vector<Observation>& leaks, const Agreement& all) {
  Rows order(leaks.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  if (leaks.size() <= kOddMostCandidates) return order;
  const auto largest_first = [&](const std::vector<double>& by) {
    Rows sorted = order;
    std::stable_sort(sorted.begin(), sorted.end(), [&](std::size_t a, std::size_t b) { return by[a] > by[b]; });
    return sorted;
  };
  Rows tried = largest_first(distances(leaks));
  tried.resize(kOddMostCandidates / 2);
  if (!std::isfinite(all.chi2)) return tried;
  for (const std::size_t s : largest_first(misfits(leaks, all.fit))) {
    if (tried.size() == kOddMostCandidates) break;
    if (std::find(tried.begin(), tried.end(), s) == tried.end()) tried.push_back(s);
  }
  return tried;
}

/// The step without which the others agree best.
struct Oddest {
  std::size_t row = 0;
  Agreement rest;
  double next_chi2 = HUGE_VAL;  ///< without the next best step
  [[nodiscard]] bool clearly() const {
    return next_chi2 - rest.chi2 > kOddClearly * std::max(1.0, rest.chi2 / rest.fit.degrees_of_freedom);
  }
};

Oddest oddest(const std::vector<Observation>& observations, const Rows& rows, const Agreement& all, const GainPriors& priors) {
  Oddest best;
  for (const std::size_t i : candidates(leaks_of(observations, rows, priors), all)) {
    Agreement rest = agreement(leaks_of(observations, without(rows, rows[i]), priors), priors);
    if (!(rest.chi2 < best.rest.chi2)) {
      best.next_chi2 = std::min(best.next_chi2, rest.chi2);
      continue;
    }
    best = Oddest{rows[i], std::move(rest), best.rest.chi2};
  }
  return best;
}

/// Tests again the steps that were excluded earlier: they may agree once the wrong step is excluded.
void take_back(const std::vector<Observation>& observations, const GainPriors& priors, Rows& rows, Rows& odd, Agreement& now) {
  std::sort(odd.begin(), odd.end());
  for (std::size_t i = 0; odd.size() > 1 && i < odd.size();) {
    Rows more = rows;
    more.insert(std::upper_bound(more.begin(), more.end(), odd[i]), odd[i]);
    Agreement with = agreement(leaks_of(observations, more, priors), priors);
    if (with.p_value < kOddContradict) {
      ++i;
      continue;
    }
    rows = std::move(more);
    now = std::move(with);
    odd.erase(odd.begin() + static_cast<std::ptrdiff_t>(i));
  }
}

/// Finds the odd steps. Returns false if no step is clearly odd.
bool find_odd(const std::vector<Observation>& observations, Rows rows, const Agreement& all, const GainPriors& priors,
              LeakAgreement& result) {
  Agreement now = all;
  const std::size_t affordable = std::max(kOddLeastRounds, kOddMostWork / observations.size());
  for (std::size_t left = std::min(affordable, observations.size() / kOneOddIn); left > 0 && rows.size() >= kNamedFrom; --left) {
    Oddest odd = oddest(observations, rows, now, priors);
    if (!std::isfinite(odd.rest.chi2)) break;
    rows = without(rows, odd.row);
    result.odd.push_back(odd.row);
    const bool clear = odd.clearly();
    now = std::move(odd.rest);
    if (now.p_value < kOddContradict) continue;
    if (!clear) break;
    take_back(observations, priors, rows, result.odd, now);
    result.p_value_without = now.p_value;
    return true;
  }
  result.odd.clear();
  return false;
}

[[noreturn]] void refuse(std::size_t steps) {
  throw Error(
      ErrorKind::kData,
      fmt::format("no azimuth can be determined: the crosstalk of these steps cannot come from one cartridge, whatever the log states. "
                  "No step is clearly wrong. Capture {}.",
                  steps == 2   ? "two more tilts to find the wrong step"
                  : steps == 3 ? "one more tilt to find the wrong step"
                               : "all steps again in one session"));
}

}  // namespace

LeakAgreement leak_agreement(const std::vector<Observation>& observations, const GainPriors& stated) {
  assert(!sizes_only(observations));
  if (observations.size() < 2) return {};
  GainPriors priors = at_phase_seen(observations, stated);
  Rows rows(observations.size());
  std::iota(rows.begin(), rows.end(), std::size_t{0});
  const Agreement all = agreement(leaks_of(observations, rows, priors), priors);
  LeakAgreement result;
  result.p_value = result.p_value_without = all.p_value;
  if (all.p_value >= kOddContradict) return result;
  if (priors.spread.any()) {
    // A wrong step may be the reason why the gains seem to differ.
    GainPriors alike = priors;
    alike.spread = {};
    LeakAgreement without = leak_agreement(observations, alike);
    without.gains_alike = true;
    if (!without.odd.empty() || without.p_value >= kOddContradict || observations.size() > kOddOwnGainsMost) return without;
    // Own gains that leave a contradiction only hide a part of it: the steps would seem to contradict each other less than they do.
    return find_odd(observations, rows, all, priors, result) ? result : without;
  }
  if (find_odd(observations, rows, all, priors, result)) return result;
  // The variance of Student's t, ν/(ν − 2), is included, because the factor itself is an estimate.
  const double nu = all.fit.degrees_of_freedom;
  if (!std::isfinite(all.chi2)) {
    result.unexplained = HUGE_VAL;
    return result;
  }
  result.variance_factor = std::max(1.0, all.chi2 / std::max(1.0, nu - 2));
  result.unexplained =
      observations.size() == 2 && result.variance_factor > kMostScatter_two ? HUGE_VAL : unexplained(observations, all.fit);
  return result;
}

void require_agreement(const std::vector<Observation>& observations, const GainPriors& priors) {
  if (observations.size() < kNamedFrom && leak_agreement(observations, priors).p_value < kOddContradict) refuse(observations.size());
}

LeakAgreement settle_leaks(const Session& session, const GainPriors& priors, Observations& observations) {
  auto& fitted = observations.fitted;
  LeakAgreement leaks = leak_agreement(fitted, priors);
  for (std::size_t k = 0; k < leaks.odd.size(); ++k) {
    set_aside(
        leaks.odd[k] - k,
        fmt::format(
            "its crosstalk does not fit the cartridge, gains and record of the other steps, which agree with each other "
            "(p = {:.2f}). The step is excluded from the fit. Check whether leads, gain, mono switch or band changed, then capture it "
            "again.",
            leaks.p_value_without),
        session, observations);
  }
  if (leaks.unexplained > kOddMostUnexplained) refuse(fitted.size());
  if (!(leaks.variance_factor > 1)) return leaks;
  observations.leak_variance_factor = leaks.variance_factor;
  observations.warnings.push_back(
      {WarningCode::kStepsContradict,
       fmt::format(
           "the crosstalk of the steps does not fit one cartridge exactly, whatever the log states. The differences are {:.1f} times "
           "the standard uncertainties, and no step is clearly wrong. The intervals allow for this. Check whether leads, gain, record "
           "or band changed between recordings, and whether the stylus keeps contact with both walls.",
           std::sqrt(leaks.variance_factor))});
  return leaks;
}

}  // namespace evenwall::internal::solve
