// SPDX-License-Identifier: GPL-3.0-or-later
// Which of a session's frequencies is fitted.
#pragma once

#include "evenwall/model.hpp"

namespace evenwall::internal::solve {

/// The frequency whose leaks are fitted: whatever is asked, a session and this number make the observations.
/// Throws: Error(kData) where there is none.
double fit_frequency_hz(const Session& session, const SolveOptions& options);

}  // namespace evenwall::internal::solve
