// SPDX-License-Identifier: GPL-3.0-or-later
// Selects the solutions that a survey uses, and numbers the cartridge and the record of each.
#pragma once

#include <string>
#include <vector>

#include "evenwall/model.hpp"

namespace evenwall::internal::survey {

struct RecordName {
  std::string record;
  std::optional<std::string> side;
  auto operator<=>(const RecordName&) const = default;  // NOLINT(modernize-use-nullptr): the compiler generates the 0
  /// "T1, side A"
  [[nodiscard]] std::string shown() const;
};

/// Solutions with numbers in place of names. Their order does not depend on the order of the input.
struct Archive {
  std::vector<ArchivedSolution> solutions;
  std::vector<int> cartridge, record;  ///< of each solution
  std::vector<std::string> cartridges;
  std::vector<RecordName> records;  ///< a record without a name if no solution names its record
  Warnings warnings;
};

/// Sorts the solutions and excludes those that cannot be used: no cartridge, no record although others have one, certain copies. The
/// warnings name them.
Archive archived(std::vector<ArchivedSolution> solutions);

/// The archive with the kept solutions only; cartridges and records are numbered anew. Requires: keep.size() == solutions.size().
Archive kept_of(const Archive& archive, const std::vector<bool>& keep);

/// For each record the number of its part, counted from 1. Cartridges that were solved on two records join these into one part, directly
/// or through further records.
std::vector<int> parts_of(const Archive& archive);

/// "a.json, b.json, c.json and 4 more"
std::string listed(const std::vector<std::string>& names);

}  // namespace evenwall::internal::survey
