// SPDX-License-Identifier: GPL-3.0-or-later
// Fits a session at each frequency that its recordings share.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "evenwall/model.hpp"
#include "solve/criteria.hpp"
#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

/// The fits at all frequencies, ascending, the session's own fit among them.
///
/// The recordings stand at the same true tilts at every frequency. So the log and its gauge are fitted once, at the session's frequency,
/// and at the others only the signal. Without phases the signal alone shows no tilt; then the log is fitted at each frequency.
struct FrequencyFits {
  std::vector<JointFit> fits;
  std::optional<std::size_t> answered;  ///< index of the session's own fit; absent: no recording has crosstalk both ways there
};

/// A frequency that cannot be solved on its own (without a calibration point, for example) is skipped. Requires: `answer` is the session's
/// fit with these options. Cost: steps × frequencies.
FrequencyFits fits_by_frequency(const Session& session, const SolveOptions& options, const JointFit& answer);

/// Least and equal crosstalk at each frequency, and the crosstalk at the recommended tilt. A frequency at which least crosstalk is not
/// determined is not listed. `least`, `equal`: those of the session's own fit. The tilt at another frequency f is that of the answer,
/// moved by φ0(f) − φ0(a) (band_optimum.hpp), with the signal's part of its uncertainty replaced by that at f.
std::vector<FrequencyResult> results_by_frequency(const FrequencyFits& all, const CriterionTilt& least, const Criterion& equal,
                                                  double recommended_deg);

}  // namespace evenwall::internal::solve
