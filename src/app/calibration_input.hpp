// SPDX-License-Identifier: GPL-3.0-or-later
// The electronics matrix that `solve` is to take out, wherever it is named.
#pragma once

#include <filesystem>
#include <string>

#include "evenwall/model.hpp"

namespace evenwall::internal::app {

/// Throws: Error(kInput) where the file can't be read or is no calibration.
Calibration read_calibration(const std::filesystem::path& path);

/// Where the calibration lies that an input's session names: a relative path is taken from the folder that `input` is or lies in; for
/// standard input ("-") from the working folder.
std::filesystem::path calibration_of(const std::string& named, const std::string& input);

/// The options with the calibration that the session names, unless they have one already. Throws: Error(kInput) as read_calibration.
SolveOptions with_calibration(SolveOptions options, const SessionFacts& facts, const std::string& input);

}  // namespace evenwall::internal::app
