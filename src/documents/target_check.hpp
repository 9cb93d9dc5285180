// SPDX-License-Identifier: GPL-3.0-or-later
// Refuses an output that would replace or extend a recording or a file that a user has written by hand.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>

namespace evenwall::internal::documents {

/// Refuses a name with the extension of an audio file. Throws: Error(kInput).
void refuse_audio_name(const std::filesystem::path& path, const std::string& name);

/// Refuses a file that is audio, a step log, a meter table, a session or a scenario. Documents, tables and pages that evenwall writes may
/// be replaced, and so may every other file. Throws: Error(kInput), also if the file cannot be read.
void refuse_irreplaceable(const std::filesystem::path& path, const std::string& name);

/// Refuses a regular file if its first document holds readings, a calibration or a simulation's true values, unless its schema begins
/// with `own_schema`: the sources of such a document may no longer exist. Throws: Error(kInput), also if the file cannot be read.
void refuse_other_documents(const std::filesystem::path& path, const std::string& name, std::string_view own_schema);

/// Refuses a file that holds anything but readings: its first line must be a reading, or the beginning of one that a crash has cut off.
/// A blank file is accepted. Throws: Error(kInput).
void refuse_unless_readings(int descriptor, const std::string& name);

/// Does the same before a line is added, if that line is a reading. Requires: the file is locked.
void refuse_unless_fits(int descriptor, std::string_view line, const std::string& name);

}  // namespace evenwall::internal::documents
