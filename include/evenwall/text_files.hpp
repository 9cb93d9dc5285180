// SPDX-License-Identifier: GPL-3.0-or-later
// Reads text files whole, replaces them whole, or adds a line. A file is never left half written.
#pragma once

#include <cstddef>
#include <filesystem>
#include <string>
#include <string_view>

namespace evenwall {

namespace fs = std::filesystem;

/// Reads a whole text file or stream of at most `limit_bytes`. Throws: Error(kInput) if it is longer, or cannot be read.
std::string read_text(const fs::path& path, std::size_t limit_bytes);
std::string read_stream(int descriptor, std::size_t limit_bytes);

/// Replaces a file: unnamed file, fsync, rename, fsync of the folder. Throws: Error(kInput), also for a file that is write-protected or
/// belongs to another user. The old file is then intact (if only the folder could not be synced, the new one is in place and whole).
void write_whole(const fs::path& path, std::string_view text);

enum class WriteKind { kWhole, kAppend };

/// Refuses an output that cannot be written, or that would replace a recording, a log or a session. Leaves no file behind.
/// Throws: Error(kInput).
void check_writable(const fs::path& path, WriteKind kind);

/// Adds one line under a lock and syncs it. If a crash has cut off the last line, a newline completes it first, so that it is never lost.
/// Requires: no line end in `line`. Throws: Error(kInput) if the file cannot be written, is not a regular file, or stays locked by
/// another program for 30 s. The file is then unchanged; if it is not, the message states what is in it.
void append_line(const fs::path& path, std::string_view line);
/// The same for a line that the file must hold only once. Returns false and adds nothing if the file has it already, byte for byte.
bool append_line_once(const fs::path& path, std::string_view line);

}  // namespace evenwall
