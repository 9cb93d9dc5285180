// SPDX-License-Identifier: GPL-3.0-or-later
// What `survey` is given -> the solutions in it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/progress.hpp"
#include "evenwall/model.hpp"

namespace evenwall::internal::app {

struct ArchiveInput {
  std::vector<ArchivedSolution> solutions;
  std::vector<std::string> files;       ///< read, or meant to be: not those passed over
  std::vector<std::string> unreadable;  ///< a complaint for each of the first few, and one that counts the rest
  Warnings warnings;                    ///< solution_unreadable, as many; passed_over for a folder's other documents
};

/// Reads files and folders, folders with all in them; one for each processor at a time; the result never depends on how many. `told` hears
/// of each file.
///
/// A file holds one solution, or one a line; `-` is standard input, one a line. Of a folder, files named *.json and *.jsonl count; those
/// that hold no solution are passed over and counted. A named file that is no solution is a complaint.
/// Throws: Error(kInput) where a folder can't be listed.
ArchiveInput archive_from(const std::vector<std::string>& inputs, const std::optional<std::string>& grouped_by,
                          const ProgressTold& told = {});

}  // namespace evenwall::internal::app
