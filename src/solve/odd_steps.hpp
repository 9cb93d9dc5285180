// SPDX-License-Identifier: GPL-3.0-or-later
// Finds steps whose crosstalk does not belong to one cartridge, from the crosstalk alone.
#pragma once

#include <vector>

#include "solve/observations.hpp"

namespace evenwall::internal::solve {

struct LeakAgreement {
  std::vector<std::size_t> odd;  ///< observations that no response fits together with the others, ascending
  double p_value = 1;            ///< of the crosstalk's scatter about one response, with all steps
  double p_value_without = 1;    ///< the same without the steps of `odd`
  double variance_factor = 1;    ///< factor that the crosstalk's covariances lack if no step is clearly wrong
  bool gains_alike = false;      ///< own gains of the recordings do not make the crosstalk agree, so they are not to be fitted
  double unexplained = 0;        ///< rms residual of the crosstalk about the response, over its rms spread between steps
};

/// With one gain for all recordings, the log and the phases of both-channel passages are not used, and levels hardly matter from four steps
/// on. A step is odd if the others agree without it, and agree clearly less well without any other step. Of four steps or more, up to a
/// quarter can be odd. Requires: phases known. Source: docs/method.md, "The fit of the crosstalk".
LeakAgreement leak_agreement(const std::vector<Observation>& observations, const GainPriors& priors);

/// Excludes odd steps from the fit. If no step is clearly wrong, sets the factor that the covariances lack. Reports both in
/// `observations.warnings`. Requires: channels in their places.
/// Throws: Error(kData) if steps contradict each other as if they were of several cartridges, and no step is clearly wrong.
LeakAgreement settle_leaks(const Session& session, const GainPriors& priors, Observations& observations);

/// Checks observations whose wiring was corrected: three steps or fewer can agree with one wiring and not with the other.
/// Throws: Error(kData) if they do not agree.
void require_agreement(const std::vector<Observation>& observations, const GainPriors& priors);

}  // namespace evenwall::internal::solve
