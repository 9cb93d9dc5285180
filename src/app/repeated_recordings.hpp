// SPDX-License-Identifier: GPL-3.0-or-later
// A recording that stands in a session more than once.
#pragma once

#include <cstddef>
#include <vector>

#include "evenwall/model.hpp"

namespace evenwall::internal::app {

struct ExcludedStep {
  std::size_t index;
  ReadingError error;
};

/// Counts each recording once, whatever its files are called (copies, links, other spellings), and adds the warnings that report it.
///
/// A step that repeats an earlier step's recording at the same tilt and for the same use is removed (`duplicate_reading`). One that logs
/// it at another tilt, or with other leads, is to be excluded, for the same audio cannot have been recorded at two tilts
/// (`same_recording`). A recording may serve the fit and the state as found; one that serves the fit and its verification stays, and is
/// warned of
/// (`same_recording`). Steps with use `no`, with an error or without audio are not compared. Cost: n log n.
/// Returns those to be excluded: their places in the session, ascending, and why.
[[nodiscard]] std::vector<ExcludedStep> count_recordings_once(Session& session);

/// Puts the errors in the place of the measurements.
void exclude(const std::vector<ExcludedStep>& excluded, Session& session);

}  // namespace evenwall::internal::app
