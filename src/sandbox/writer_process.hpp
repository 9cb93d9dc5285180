// SPDX-License-Identifier: GPL-3.0-or-later
// The process that writes, while another one decodes: the one that decodes can then do without writing any file.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "evenwall/text_files.hpp"

namespace evenwall::internal::sandbox {

/// What is written: the names on the command line, and no others.
struct WritablePaths {
  std::optional<std::string> output, appended;
};

/// Where something will be written, splits the process in two. Returns nothing in the one that goes on to work, and whose end is the
/// other's end too; in the one that writes, returns the worker's exit status once that has ended. Where nothing will be written, only
/// returns nothing.
///
/// Requires: no other thread runs. Throws: Error(kInput) where the system grants no second process.
std::optional<int> split_off_work(const WritablePaths& paths);

/// Whether this process is the worker: a signal may simply end it, for it writes nothing, and the other one sees it and ends likewise.
bool is_split_off();

/// As check_writable, write_whole and append_line_once, by whichever process writes. The path is one of WritablePaths: the worker cannot
/// name another. Requires: one thread at a time. Throws: what these throw.
void check_target(const std::string& path, WriteKind kind);
void put_whole(const std::string& path, std::string_view text);
bool put_line(const std::string& path, std::string_view line);

}  // namespace evenwall::internal::sandbox
