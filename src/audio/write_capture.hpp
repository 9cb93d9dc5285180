// The audio of a capture, into a file that its caller puts in place.
#pragma once

#include <string>

#include "evenwall/files.hpp"
#include "storage/whole_file.hpp"

namespace evenwall {

/// As the public write_capture(), without the commit. `name` is for messages. Throws: Error(kInput).
void write_capture(AudioSource& audio, int bits, WholeFile& file, const std::string& name);

}  // namespace evenwall
