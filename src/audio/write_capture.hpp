// SPDX-License-Identifier: GPL-3.0-or-later
// Writes the audio of a capture into a file that the caller puts in place.
#pragma once

#include <string>

#include "evenwall/files.hpp"
#include "storage/whole_file.hpp"

namespace evenwall::internal::audio {

/// Does the same as the public write_capture(), without the commit. `name` is used in messages. Throws: Error(kInput).
void write_capture(AudioSource& audio, int bits, storage::WholeFile& file, const std::string& name);

}  // namespace evenwall::internal::audio
