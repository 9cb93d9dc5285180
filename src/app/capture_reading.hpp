// A capture on disk or on standard input -> Reading, whatever state the capture is in.
#pragma once

#include <filesystem>
#include <string>

#include "evenwall/measure.hpp"

namespace evenwall::app {

/// Measures a capture ("-": standard input). One that can't be measured gives a reading with `error` set, its message naming the capture.
/// `name` goes into Reading::capture.
Reading reading_of(const std::filesystem::path& path, const std::string& name, const MeasureOptions& options);

/// Fills what the caller left open from the session's facts.
MeasureOptions with_facts(MeasureOptions options, const SessionFacts& facts);

}  // namespace evenwall::app
