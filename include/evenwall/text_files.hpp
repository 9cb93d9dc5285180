// SPDX-License-Identifier: GPL-3.0-or-later
// Text files: read whole, replaced whole, or extended by a line. Nothing is ever half written.
#pragma once

#include <cstddef>
#include <filesystem>
#include <string>
#include <string_view>

namespace evenwall {

namespace fs = std::filesystem;

/// The whole of a text file or stream, at most `limit_bytes`. Throws: Error(kInput) where it is longer, or cannot be read.
std::string read_text(const fs::path& path, std::size_t limit_bytes);
std::string read_stream(int descriptor, std::size_t limit_bytes);

/// Unnamed file, fsync, rename, fsync of the folder. Throws: Error(kInput), also for a write-protected file or another user's; the old
/// file is then intact (the new one whole, if only the folder could not be synced).
void write_whole(const fs::path& path, std::string_view text);

enum class WriteKind { kWhole, kAppend };

/// Refuses what cannot be written, and recordings, logs and sessions in an output's place; leaves nothing behind. Throws: Error(kInput).
void check_writable(const fs::path& path, WriteKind kind);

/// Adds one line under a lock and syncs it; a torn last line left by a crash is completed with a newline first, never lost.
/// Requires: no line end in `line`. Throws: Error(kInput) if the file cannot be written, is no regular one, or stays locked by another
/// program for 30 s. The file is then as it was before; if it is not, the message says what is in it.
void append_line(const fs::path& path, std::string_view line);
/// The same for a line that the file shall hold once. Returns false, and adds nothing, if the file has it already, byte for byte.
bool append_line_once(const fs::path& path, std::string_view line);

}  // namespace evenwall
