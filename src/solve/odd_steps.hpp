// SPDX-License-Identifier: GPL-3.0-or-later
// Whether the steps' leaks belong to one cartridge, told from the leaks alone.
#pragma once

#include <vector>

#include "solve/observations.hpp"

namespace evenwall::internal::solve {

struct LeakAgreement {
  std::vector<std::size_t> odd;  ///< observations whose leaks no response has in common with the others', ascending
  double p_value = 1;            ///< of the leaks' scatter about one response, all steps in
  double p_value_without = 1;    ///< the same without the odd ones
  double variance_factor = 1;    ///< what the leaks' covariances lack where no step is to blame
  bool gains_alike = false;      ///< gains of the recordings' own do not make the leaks agree: none are to be fitted
  double unexplained = 0;        ///< rms of what the response leaves of the leaks, over the leaks' spread between steps
};

/// The log and both-channel passages' phases have no say, levels hardly any from four steps on. A step is odd where the others agree
/// without it, and clearly less well without any other: of four steps or more, a quarter at most. Requires: phases known. Source:
/// docs/method.md, "The signal's part".
LeakAgreement leak_agreement(const std::vector<Observation>& observations, const GainPriors& priors);

/// Takes odd steps out of the fitted ones and sets them aside; where none is to blame sets what the covariances lack. Says so in
/// `observations.warnings`. Requires: channels in their places.
/// Throws: Error(kData) where steps contradict each other as if they were of several cartridges, and none is clearly to blame.
LeakAgreement settle_leaks(const Session& session, const GainPriors& priors, Observations& observations);

/// For observations whose wiring was turned: three steps and fewer can agree one way round and not the other.
/// Throws: Error(kData) where they do not.
void require_agreement(const std::vector<Observation>& observations, const GainPriors& priors);

}  // namespace evenwall::internal::solve
