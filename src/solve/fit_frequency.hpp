// SPDX-License-Identifier: GPL-3.0-or-later
// Chooses the frequency of a session that is fitted.
#pragma once

#include "evenwall/model.hpp"

namespace evenwall::internal::solve {

/// The frequency at which the crosstalk is fitted. The session and this number determine the observations; no other option changes them.
/// Throws: Error(kData) if there is no such frequency.
double fit_frequency_hz(const Session& session, const SolveOptions& options);

}  // namespace evenwall::internal::solve
