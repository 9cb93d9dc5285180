// SPDX-License-Identifier: GPL-3.0-or-later
// Makes a Session from an input of `solve`: a folder, a step log, a meter table, or readings.
#pragma once

#include <string>
#include <vector>

#include "app/capture_measurement.hpp"
#include "app/progress.hpp"
#include "evenwall/model.hpp"

namespace evenwall::internal::app {

/// Reads an input and, for a step log, measures the stretch of the capture in each row, `jobs` at a time. `told` is called after each row.
///
/// A folder holds steps.csv and optionally session.json. For a log, the session.json in the same folder is used. `-` means readings on
/// standard input. A capture that cannot be measured stays as a step with an error and a `step_unreadable` warning. A recording that occurs
/// more than once counts once (repeated_recordings.hpp). `measure` measures a capture; it is called by several threads at a time. Throws:
/// Error(kInput) if the log, the session file or the readings cannot be read, or the input is of another kind.
Session session_from(const std::string& input, const SolveOptions& options, int jobs, const ProgressTold& told = {},
                     const MeasureCapture& measure = measured);

/// The files of which an input consists, as far as they can be determined: log, session file, calibration, captures.
/// Throws: nothing.
std::vector<std::string> files_of(const std::string& input);

/// Makes a session from readings. Its facts are those of the first reading that has any. Readings with different facts cause a warning.
Session session_of_readings(std::vector<Reading> readings);

/// The warnings of all measured steps. A warning that several steps share is reported once.
Warnings warnings_of_steps(const std::vector<Step>& steps);

}  // namespace evenwall::internal::app
