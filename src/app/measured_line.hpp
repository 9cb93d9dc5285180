// SPDX-License-Identifier: GPL-3.0-or-later
// Describes a measured recording in one line.
#pragma once

#include <string>

#include "app/capture_measurement.hpp"
#include "evenwall/model.hpp"

namespace evenwall::internal::app {

/// The bands, the tone, the highest level and the warnings of a recording, or the reason why it has no measurement, without a line end:
/// "step-01.wav: left and right at 1000 Hz; highest level -9.2 dBFS; warnings: hum". A stretch of a recording is named with its times.
std::string measured_line(const LogEntry& entry, const Measured& result);

}  // namespace evenwall::internal::app
