// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/agreement.hpp"

#include <algorithm>

#include "numeric/distributions.hpp"
#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

Agreement agreement_by(const std::vector<Observation>& leaks, const GainPriors& priors) {
  Agreement a{fit_signal(leaks, priors)};
  if (!std::isfinite(a.fit.chi2)) return a;
  a.chi2 = a.fit.chi2;
  for (const Observation& o : leaks) a.fit.degrees_of_freedom -= o.ln_level_ratio && o.u_ln_level_ratio >= kLoose_neper ? 1 : 0;
  a.p_value = numeric::chi_square_upper(a.chi2, std::max(1.0, a.fit.degrees_of_freedom));
  return a;
}

}  // namespace

std::vector<Observation> leaks_of(const std::vector<Observation>& observations, const Rows& rows, const GainPriors& priors) {
  std::vector<Observation> leaks;
  leaks.reserve(rows.size());
  for (const std::size_t row : rows) {
    leaks.push_back(observations[row]);
    if (priors.spread.any()) continue;
    if (observations.size() >= kNamedFrom) leaks.back().u_ln_level_ratio = kLoose_neper;
    leaks.back().interchannel_phase_rad.reset();
  }
  return leaks;
}

Agreement agreement(const std::vector<Observation>& leaks, const GainPriors& stated) {
  GainPriors open = stated;
  open.u_ln_cut_ratio = std::max(stated.u_ln_cut_ratio, leaks.size() < kNamedFrom ? kLooseCut_neper : kFreeCut_neper);
  Agreement found = agreement_by(leaks, open);
  if (found.p_value >= kOddContradict) return found;
  Agreement as_stated = agreement_by(leaks, stated);
  return as_stated.chi2 < found.chi2 ? as_stated : found;
}

GainPriors at_phase_seen(const std::vector<Observation>& observations, GainPriors priors) {
  Complex phasor;
  for (const Observation& o : observations) phasor += o.interchannel_phase_rad ? std::polar(1.0, *o.interchannel_phase_rad) : 0.0;
  if (std::abs(phasor) > 0) priors.phase_centre_rad = std::arg(phasor);
  return priors;
}

}  // namespace evenwall::internal::solve
