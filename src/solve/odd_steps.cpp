// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/odd_steps.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>

#include "evenwall/error.hpp"
#include "numeric/distributions.hpp"
#include "numeric/robust_regression.hpp"
#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

using Rows = std::vector<std::size_t>;

/// The leaks of some steps and next to nothing beside: levels so uncertain that they only hold the gain where leaks tell nothing of it.
/// Three steps and fewer keep theirs: their leaks alone suit many a gain that the levels know better.
std::vector<Observation> leaks_of(const std::vector<Observation>& observations, const Rows& rows) {
  std::vector<Observation> leaks;
  leaks.reserve(rows.size());
  for (const std::size_t row : rows) {
    leaks.push_back(observations[row]);
    if (observations.size() >= kNamedFrom) leaks.back().u_ln_level_ratio = kLoose_neper;
    leaks.back().interchannel_phase_rad.reset();
  }
  return leaks;
}

Rows without(const Rows& rows, std::size_t row) {
  Rows rest;
  std::copy_if(rows.begin(), rows.end(), std::back_inserter(rest), [&](std::size_t r) { return r != row; });
  return rest;
}

struct Agreement {
  SignalFit fit;
  double chi2 = HUGE_VAL;  ///< also of a fit that found no numbers
  double p_value = 0;
};

Agreement agreement_by(const std::vector<Observation>& leaks, const GainPriors& priors) {
  Agreement a{fit_signal(leaks, priors)};
  if (!std::isfinite(a.fit.chi2)) return a;
  a.chi2 = a.fit.chi2;
  for (const Observation& o : leaks) a.fit.degrees_of_freedom -= o.ln_level_ratio && o.u_ln_level_ratio >= kLoose_neper ? 1 : 0;
  a.p_value = numeric::chi_square_upper(a.chi2, std::max(1.0, a.fit.degrees_of_freedom));
  return a;
}

/// Whatever is expected of cut levels and phases, leaks that agree at some gain agree: bands may be cut decibels apart, and a chain may
/// turn a channel by any angle. What is stated is tried where that much freedom finds nothing, as with captures at one tilt.
Agreement agreement(const std::vector<Observation>& leaks, const GainPriors& stated) {
  GainPriors open = stated;
  open.u_ln_cut_ratio = std::max(stated.u_ln_cut_ratio, leaks.size() < kNamedFrom ? kLooseCut_neper : kFreeCut_neper);
  Agreement found = agreement_by(leaks, open);
  if (found.p_value >= kOddContradict) return found;
  Agreement as_stated = agreement_by(leaks, stated);
  return as_stated.chi2 < found.chi2 ? as_stated : found;
}

/// The ratios as the fit has them.
PredictedRatios modelled(const SignalFit& fit, std::size_t s, bool leads_swapped) {
  const Complex gain = std::exp(ln_gain_of(fit.common, leads_swapped) - ln_gain_of(fit.common, false));
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
  return std::sqrt(left / spread);
}

double misfit(Complex seen, Complex model, const Eigen::Matrix2d& covariance) {
  const Eigen::Vector2d off(seen.real() - model.real(), seen.imag() - model.imag());
  return off.dot(covariance.llt().solve(off));
}

/// How badly each step sits in the fit.
std::vector<double> misfits(const std::vector<Observation>& leaks, const SignalFit& fit) {
  std::vector<double> all;
  for (std::size_t s = 0; s < leaks.size(); ++s) {
    const PredictedRatios model = modelled(fit, s, leaks[s].leads_swapped);
    all.push_back(misfit(leaks[s].right_into_left, model.right_into_left, leaks[s].right_into_left_covariance) +
                  misfit(leaks[s].left_into_right, model.left_into_right, leaks[s].left_into_right_covariance));
  }
  return all;
}

/// How far each step's leaks lie from the middle ones: what pulls a fit to itself sits well in it.
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

/// Positions of the steps worth trying: of many those that sit worst, and those that lie farthest off.
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
  double next_chi2 = HUGE_VAL;  ///< without the next best
  [[nodiscard]] bool clearly() const {
    return next_chi2 - rest.chi2 > kOddClearly * std::max(1.0, rest.chi2 / rest.fit.degrees_of_freedom);
  }
};

Oddest oddest(const std::vector<Observation>& observations, const Rows& rows, const Agreement& all, const GainPriors& priors) {
  Oddest best;
  for (const std::size_t i : candidates(leaks_of(observations, rows), all)) {
    Agreement rest = agreement(leaks_of(observations, without(rows, rows[i])), priors);
    if (!(rest.chi2 < best.rest.chi2)) {
      best.next_chi2 = std::min(best.next_chi2, rest.chi2);
      continue;
    }
    best = Oddest{rows[i], std::move(rest), best.rest.chi2};
  }
  return best;
}

/// The phase that the both-channel passages show is the one expected, whatever it is.
GainPriors at_phase_seen(const std::vector<Observation>& observations, GainPriors priors) {
  Complex phasor;
  for (const Observation& o : observations) phasor += o.interchannel_phase_rad ? std::polar(1.0, *o.interchannel_phase_rad) : 0.0;
  if (std::abs(phasor) > 0) priors.phase_centre_rad = std::arg(phasor);
  return priors;
}

/// One that went before the truly odd one may agree, now that that is gone.
void take_back(const std::vector<Observation>& observations, const GainPriors& priors, Rows& rows, Rows& odd, Agreement& now) {
  std::sort(odd.begin(), odd.end());
  for (std::size_t i = 0; odd.size() > 1 && i < odd.size();) {
    Rows more = rows;
    more.insert(std::upper_bound(more.begin(), more.end(), odd[i]), odd[i]);
    Agreement with = agreement(leaks_of(observations, more), priors);
    if (with.p_value < kOddContradict) {
      ++i;
      continue;
    }
    rows = std::move(more);
    now = std::move(with);
    odd.erase(odd.begin() + static_cast<std::ptrdiff_t>(i));
  }
}

[[noreturn]] void refuse(std::size_t steps) {
  throw Error(ErrorKind::kData,
              fmt::format("the steps' leaks are those of no one cartridge, whatever the log says, and no step is clearly the one to blame; "
                          "capture {}",
                          steps == 2   ? "two more tilts, which would tell"
                          : steps == 3 ? "one more tilt, which would tell"
                                       : "them again, all in one sitting"));
}

}  // namespace

LeakAgreement leak_agreement(const std::vector<Observation>& observations, const GainPriors& stated) {
  assert(!sizes_only(observations));
  LeakAgreement result;
  const GainPriors priors = at_phase_seen(observations, stated);
  if (observations.size() < 2) return result;
  Rows rows(observations.size());
  std::iota(rows.begin(), rows.end(), std::size_t{0});
  const Agreement all = agreement(leaks_of(observations, rows), priors);
  result.p_value = result.p_value_without = all.p_value;
  if (all.p_value >= kOddContradict) return result;
  Agreement now = all;
  for (std::size_t left = observations.size() / kOneOddIn; left > 0 && rows.size() >= kNamedFrom; --left) {
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
    return result;
  }
  result.odd.clear();
  // Student's variance: the factor itself is an estimate.
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

void settle_leaks(const Session& session, const GainPriors& priors, Observations& observations) {
  auto& fitted = observations.fitted;
  const LeakAgreement leaks = leak_agreement(fitted, priors);
  for (std::size_t k = 0; k < leaks.odd.size(); ++k) {
    set_aside(
        leaks.odd[k] - k,
        fmt::format("its leaks are not those of the cartridge, gains and record that the other steps show, which agree (p = {:.2f}); it "
                    "is left out of the fit. See what changed (leads, gain, mono switch, band), capture it again",
                    leaks.p_value_without),
        session, observations);
  }
  if (leaks.unexplained > kOddMostUnexplained) refuse(fitted.size());
  if (!(leaks.variance_factor > 1)) return;
  observations.leak_variance_factor = leaks.variance_factor;
  observations.warnings.push_back(
      {WarningCode::kStepsContradict,
       fmt::format("the steps' leaks are not quite those of one cartridge, whatever the log says: {:.1f} times their "
                   "uncertainties apart, with no step clearly to blame; the intervals allow for that. See what "
                   "changed between captures (leads, gain, record, band), and whether the stylus keeps to both walls",
                   std::sqrt(leaks.variance_factor))});
}

}  // namespace evenwall::internal::solve
