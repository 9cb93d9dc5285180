// SPDX-License-Identifier: GPL-3.0-or-later
// Names of temporary files, and their removal after a run was killed.
#pragma once

#include <sys/types.h>

#include <filesystem>
#include <string>

namespace evenwall::internal::storage {

std::filesystem::path folder_of(const std::filesystem::path& path);

/// A name beside the target for the file with this number: ".NAME.tmp-NUMBER-RANDOM". A file that is copied, or made under such a name by
/// another program, has another number and is thereby recognised as not ours. Number 0: of a file that is not made yet.
std::filesystem::path temporary_name(const std::filesystem::path& target, ino_t inode);

/// Locks a temporary file, until its last descriptor is closed: no other run takes it for a left-over.
void mark_in_use(int descriptor);

/// Removes regular files beside the target that satisfy all of these: a temporary name of the same target, with the file's own number in
/// it; the same user; no other name; an hour without a write; locked by no process.
void clear_left_overs(const std::filesystem::path& target);

}  // namespace evenwall::internal::storage
