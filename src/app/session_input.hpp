// SPDX-License-Identifier: GPL-3.0-or-later
// What `solve` is given -> Session: a folder, a step log, or readings.
#pragma once

#include <string>
#include <vector>

#include "app/progress.hpp"
#include "evenwall/model.hpp"

namespace evenwall::internal::app {

/// Reads an input and measures its captures where they are not measured yet, the stretch of each row, `jobs` at a time;
/// `told` hears of each.
///
/// A folder holds steps.csv and, where there is one, session.json; a log takes the session.json beside it. `-` is readings on standard
/// input. A capture that can't be measured stays as a step with an error and a `step_unreadable` warning. A recording that stands there
/// more than once counts once (repeated_recordings.hpp). Throws: Error(kInput) where the log, the session file or the readings can't be
/// read, or the input is of no such kind.
Session session_from(const std::string& input, const SolveOptions& options, int jobs, const ProgressTold& told = {});

/// The files that such an input is made of, as far as they can be told: log, session file, calibration, captures. Throws nothing.
std::vector<std::string> files_of(const std::string& input);

/// The session that readings make: its facts are those of the first reading that has any; others that differ are warned of.
Session session_of_readings(std::vector<Reading> readings);

/// The warnings of all measured steps, those that several steps share reported once.
Warnings warnings_of_steps(const std::vector<Step>& steps);

}  // namespace evenwall::internal::app
