// SPDX-License-Identifier: GPL-3.0-or-later
// Which solutions count, and which cartridge and record each belongs to.
#pragma once

#include <string>
#include <vector>

#include "evenwall/model.hpp"

namespace evenwall::internal::survey {

struct RecordName {
  std::string record;
  std::optional<std::string> side;
  auto operator<=>(const RecordName&) const = default;  // NOLINT(modernize-use-nullptr): the 0 is in the < that the compiler writes
  /// "T1, side A"
  [[nodiscard]] std::string shown() const;
};

/// Solutions with numbers in place of names; lists of one length, in an order that does not depend on how they came.
struct Archive {
  std::vector<ArchivedSolution> solutions;
  std::vector<int> cartridge, record;
  std::vector<std::string> cartridges;
  std::vector<RecordName> records;  ///< one without a name where no solution names its record
  Warnings warnings;
};

/// Sorts, and leaves out and names what can't be used: no cartridge, no record while others have one, certain copies.
Archive archived(std::vector<ArchivedSolution> solutions);

/// The archive without some of its solutions, cartridges and records counted anew. Requires: keep.size() == solutions.size().
Archive kept_of(const Archive& archive, const std::vector<bool>& keep);

/// For each record the number of its part, from 1: records of one part are joined by cartridges that were solved on both, directly or
/// by way of others.
std::vector<int> parts_of(const Archive& archive);

/// "a.json, b.json, c.json and 4 more"
std::string listed(const std::vector<std::string>& names);

}  // namespace evenwall::internal::survey
