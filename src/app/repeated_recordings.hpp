// SPDX-License-Identifier: GPL-3.0-or-later
// Finds recordings that a session contains more than once.
#pragma once

#include <cstddef>
#include <vector>

#include "evenwall/model.hpp"

namespace evenwall::internal::app {

struct ExcludedStep {
  std::size_t index;
  ReadingError error;
};

/// Counts each recording once, even if its files have different names (copies, links, other spellings), and adds the warnings.
///
/// A step that repeats an earlier step's recording at the same tilt and for the same use is removed (`duplicate_reading`). A step that
/// logs it at another tilt, or with other leads, must be excluded, because the same audio cannot have been recorded at two tilts
/// (`same_recording`). A recording may be used for the fit and for the state as found. If it is used for the fit and its verification, it
/// is kept, with a warning (`same_recording`). Steps with use `no`, with an error or without audio are not compared. Cost: n log n.
/// Returns the steps to exclude: their indices in the session, ascending, and the reasons.
[[nodiscard]] std::vector<ExcludedStep> count_recordings_once(Session& session);

/// Replaces the measurements of these steps by their errors.
void exclude(const std::vector<ExcludedStep>& excluded, Session& session);

}  // namespace evenwall::internal::app
