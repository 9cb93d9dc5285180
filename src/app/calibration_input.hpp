// SPDX-License-Identifier: GPL-3.0-or-later
// Reads the electronics' matrix that `solve` corrects for, as the command line or the session names it.
#pragma once

#include <filesystem>
#include <string>

#include "evenwall/model.hpp"

namespace evenwall::internal::app {

/// Throws: Error(kInput) if the file cannot be read or is not a calibration.
Calibration read_calibration(const std::filesystem::path& path);

/// The path of the calibration that an input's session names. A relative path starts in the folder `input`, or in the folder of the file
/// `input`; for standard input ("-") it starts in the working folder.
std::filesystem::path calibration_of(const std::string& named, const std::string& input);

/// Adds the calibration that the session names to the options, unless they have one already. Throws: Error(kInput) as read_calibration.
SolveOptions with_calibration(SolveOptions options, const SessionFacts& facts, const std::string& input);

}  // namespace evenwall::internal::app
