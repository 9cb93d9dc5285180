// SPDX-License-Identifier: GPL-3.0-or-later
// Prints the rows of a log for a recording that holds several settings.
#pragma once

#include <string>
#include <vector>

#include "evenwall/model.hpp"

namespace evenwall::internal::app {

/// The first row of such a log. The tilts are left for the user to fill in.
inline constexpr const char* kSettingHeader = "capture,tilt_deg,from_s,to_s\n";

/// One row for each setting of the recording, in time order. Empty if no setting has both a left-only and a right-only passage. The
/// recording must have been measured.
std::string setting_rows(const Reading& reading, const std::vector<Band>& bands);

}  // namespace evenwall::internal::app
