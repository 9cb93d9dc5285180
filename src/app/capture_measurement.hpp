// SPDX-License-Identifier: GPL-3.0-or-later
// Measures a capture on disk or on standard input, and turns every failure of the capture into a ReadingError.
#pragma once

#include <filesystem>
#include <functional>
#include <string>
#include <variant>

#include "evenwall/measure.hpp"

namespace evenwall::internal::app {

using Measured = std::variant<Measurement, ReadingError>;

/// Measures a capture (path "-": standard input). If it cannot be measured, the result is an error that names it as `name`.
Measured measured(const std::filesystem::path& path, const std::string& name, const MeasureOptions& options);

/// Does the same, and then calls `add` with the capture, which is still open, and its measurement. An Error of `add` becomes the result.
Measured measured_then(const std::filesystem::path& path, const std::string& name, const MeasureOptions& options,
                       const std::function<void(AudioSource& audio, Measurement& measurement)>& add);

/// measured(), or a function that does the same.
using MeasureCapture = std::function<Measured(const std::filesystem::path& path, const std::string& name, const MeasureOptions& options)>;

/// The rejected tone-like stretches of a capture on disk, as text for people. The text is empty if the capture cannot be read.
std::string rejected_in(const std::filesystem::path& path, const MeasureOptions& options);

/// Fills in the frequency, bands and speed of the session's facts if the caller has not set them.
MeasureOptions with_facts(MeasureOptions options, const SessionFacts& facts);

}  // namespace evenwall::internal::app
