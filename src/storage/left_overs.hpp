// SPDX-License-Identifier: GPL-3.0-or-later
// Names temporary files, and removes those that a killed run has left.
#pragma once

#include <sys/types.h>

#include <filesystem>
#include <string>

namespace evenwall::internal::storage {

std::filesystem::path folder_of(const std::filesystem::path& path);

/// A name in the target's folder for the file with this inode number: ".NAME.tmp-NUMBER-RANDOM". A copied file, or a file that another
/// program made under such a name, has another number and is thereby recognised as foreign. Number 0 is for a file not made yet.
std::filesystem::path temporary_name(const std::filesystem::path& target, ino_t inode);

/// Locks a temporary file until its last descriptor is closed, so that no other run removes it.
void mark_in_use(int descriptor);

/// Removes each regular file in the target's folder that satisfies all of these conditions: its name is a temporary name of the same
/// target and holds the file's own number, it belongs to the same user, it has no other name, it was not written to for an hour, and no
/// process has locked it.
void clear_left_overs(const std::filesystem::path& target);

}  // namespace evenwall::internal::storage
