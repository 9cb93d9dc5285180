// The electronics matrix that `solve` is to take out, wherever it is named.
#pragma once

#include <filesystem>
#include <string>

#include "evenwall/model.hpp"

namespace evenwall::app {

/// Throws: Error(kInput) where the file can't be read or is no calibration.
Calibration read_calibration(const std::filesystem::path& path);

/// The options with the calibration that the session names, unless they have one already. A relative path is taken from the folder that
/// `input` is or lies in; for standard input ("-") from the working folder. Throws: Error(kInput) as read_calibration.
SolveOptions with_calibration(SolveOptions options, const SessionFacts& facts, const std::string& input);

}  // namespace evenwall::app
