// SPDX-License-Identifier: GPL-3.0-or-later
// Splits the program into a process that writes and one that decodes, so that the decoding process need not write any file.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "evenwall/text_files.hpp"
#include "storage/descriptor.hpp"
#include "storage/file_stamp.hpp"

namespace evenwall::internal::sandbox {

/// The files that may be written: those named on the command line, and no others.
struct WritablePaths {
  std::optional<std::string> output, appended;
  std::optional<std::string> kept{};  ///< a new file for a stream; the worker writes to it, but cannot give it its name
  std::optional<std::string> log{};   ///< a step log; text can only be added to its end
};

/// If something will be written, splits the process in two. In the worker, the process that continues to work, it returns nothing; when
/// the worker ends, the other process ends too. In the process that writes, it returns the worker's exit status after the worker has
/// ended. If nothing will be written, it only returns nothing.
///
/// Requires: no other thread runs. Throws: Error(kInput) if the system grants no second process, or if the file to be kept exists or cannot
/// be made.
std::optional<int> split_off_work(const WritablePaths& paths);

/// In the worker: a copy of the descriptor of the file to be kept, which has no name yet. Requires: the file was named; one call.
storage::Descriptor kept_file();

/// Gives the file to be kept its name, in the process that writes. Throws: Error(kInput), also if a file has got the name meanwhile.
void commit_kept();

/// Whether this process is the worker. A signal may simply end the worker: it writes nothing, and the other process then ends likewise.
bool is_split_off();

/// Do the same as check_writable, write_whole and append_line_once, in the process that writes. The path is one of WritablePaths: the
/// worker cannot name another one. Requires: one thread at a time. Throws: the errors of these functions.
void check_target(const std::string& path, WriteKind kind);
void put_whole(const std::string& path, std::string_view text);
bool put_line(const std::string& path, std::string_view line);

/// Does the same as storage::grow, in the process that writes. The path is WritablePaths::log. Requires and throws as put_line.
[[nodiscard]] bool grow_log(const std::string& path, const std::optional<storage::FileStamp>& seen, std::string_view added);

}  // namespace evenwall::internal::sandbox
