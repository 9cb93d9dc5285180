// SPDX-License-Identifier: GPL-3.0-or-later
// Lists the recordings of a folder that has no log.
#pragma once

#include <string>
#include <vector>

#include "evenwall/files.hpp"

namespace evenwall::internal::app {

/// Whether a file has a name as recordings have it: wav, wave, rf64, w64, aif, aiff, aifc or flac, in upper or lower case. Hidden files
/// have not.
bool is_capture_name(const std::string& name);

/// Names of the audio files in a folder, in the order of recording that their names show: numbers in names are compared as numbers, so
/// take-9.wav comes before take-10.wav. Files that begin with a dot, and files in subfolders, are not listed.
/// Throws: Error(kInput) if the folder cannot be listed.
std::vector<std::string> captures_in(const fs::path& folder);

/// Whether a name comes before another one in that order.
bool named_before(const std::string& a, const std::string& b);

}  // namespace evenwall::internal::app
