// SPDX-License-Identifier: GPL-3.0-or-later
// Prints the rows of a log for a recording that holds several settings.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "evenwall/model.hpp"

namespace evenwall::internal::app {

/// The first row of such a log. The tilts are left for the user to fill in.
inline constexpr const char* kSettingHeader = "capture,tilt_deg,from_s,to_s\n";

/// The folder of the log to which the rows belong: that of the file to which they are written, otherwise that of the recordings. Recordings
/// in different folders have no log beside all of them, so the rows then belong to a log in the working folder.
std::filesystem::path folder_of_rows(const std::vector<std::string>& captures, const std::optional<std::string>& output);

/// The path of a recording as a log in this folder names it.
std::string name_in_log(const std::string& capture, const std::filesystem::path& folder);

/// One row for each setting of the recording, in time order, with this name. Empty if no setting has both a left-only and a right-only
/// passage. The recording must have been measured.
std::string setting_rows(const Reading& reading, const std::string& name, const std::vector<Band>& bands);

}  // namespace evenwall::internal::app
