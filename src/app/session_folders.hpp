// SPDX-License-Identifier: GPL-3.0-or-later
// Finds the sessions in a folder of sessions.
#pragma once

#include <string>
#include <vector>

namespace evenwall::internal::app {

/// The inputs, with each folder that holds no steps.csv but sessions in its folders (a log, or recordings without one) replaced by these
/// sessions, in order of their names. Folders are searched to a depth of 8; symbolic links to folders are not followed. Other inputs stay
/// as they are.
std::vector<std::string> with_sessions_of_folders(const std::vector<std::string>& inputs);

/// The sessions in the folders of a folder, in order of their names, searched to a depth of `depth` (1: the folders in it). Throws:
/// Error(kInput) if one of the folders cannot be listed.
std::vector<std::string> sessions_below(const std::string& folder, int depth);

}  // namespace evenwall::internal::app
