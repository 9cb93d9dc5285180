// SPDX-License-Identifier: GPL-3.0-or-later
// What an output must never replace or be added to: recordings, and what a user has written by hand.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>

namespace evenwall::internal::documents {

/// Refuses a name that ends as those of audio files do. Throws: Error(kInput).
void refuse_audio_name(const std::filesystem::path& path, const std::string& name);

/// Refuses a file that is audio, a step log, a meter table, a session or a scenario. Documents, tables and pages that evenwall writes may
/// be replaced, and so may every other file. Throws: Error(kInput), also if the file cannot be read.
void refuse_irreplaceable(const std::filesystem::path& path, const std::string& name);

/// Refuses a regular file whose first document holds readings, a calibration or a simulation's true values, unless its schema begins with
/// `own_schema`: what made them may be gone. Throws: Error(kInput), also if the file cannot be read.
void refuse_other_documents(const std::filesystem::path& path, const std::string& name, std::string_view own_schema);

/// Refuses a file that holds anything but readings: its first line must be a reading, or the beginning of one that a crash has cut off. A
/// file without a word in it is accepted. Throws: Error(kInput).
void refuse_unless_readings(int descriptor, const std::string& name);

/// The same before a line is added, if that line is a reading. Requires: the file is locked.
void refuse_unless_fits(int descriptor, std::string_view line, const std::string& name);

}  // namespace evenwall::internal::documents
