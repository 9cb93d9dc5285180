// SPDX-License-Identifier: GPL-3.0-or-later
// Reads the solutions from the inputs of `survey`.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/progress.hpp"
#include "evenwall/model.hpp"

namespace evenwall::internal::app {

struct ArchiveInput {
  std::vector<ArchivedSolution> solutions;
  std::vector<std::string> files;       ///< files that were read, or could not be read; skipped files are not included
  std::vector<std::string> unreadable;  ///< one message for each of the first few, and one that counts the others
  Warnings warnings;                    ///< solution_unreadable for each message; passed_over for other documents in a folder
};

/// Reads files and folders, including subfolders, with one thread for each processor. The result does not depend on the number of threads.
/// `told` is called after each file.
///
/// A file, or standard input (`-`), holds one solution or one per line. Of a folder, the files named *.json and *.jsonl are read, without
/// hidden ones. Files that hold no solution are skipped and counted. If the user names a file that is not a solution, it gives a message.
/// Throws: Error(kInput) if a folder cannot be listed.
ArchiveInput archive_from(const std::vector<std::string>& inputs, const std::optional<std::string>& grouped_by,
                          const ProgressTold& told = {});

}  // namespace evenwall::internal::app
