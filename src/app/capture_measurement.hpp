// SPDX-License-Identifier: GPL-3.0-or-later
// A capture on disk or on standard input -> Measurement, whatever state the capture is in.
#pragma once

#include <filesystem>
#include <string>
#include <variant>

#include "evenwall/measure.hpp"

namespace evenwall::internal::app {

using Measured = std::variant<Measurement, ReadingError>;

/// Measures a capture (path "-": standard input). One that can't be measured gives an error that names it as `name`.
Measured measured(const std::filesystem::path& path, const std::string& name, const MeasureOptions& options);

/// What was heard of a capture on disk and left out, as text for people; empty where there is nothing, or where the capture can't be read.
std::string rejected_in(const std::filesystem::path& path, const MeasureOptions& options);

/// Fills frequency and bands where the caller left them open, and takes the speed, where the session's facts have it.
MeasureOptions with_facts(MeasureOptions options, const SessionFacts& facts);

}  // namespace evenwall::internal::app
