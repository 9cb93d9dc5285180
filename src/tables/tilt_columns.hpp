// SPDX-License-Identifier: GPL-3.0-or-later
// Examines the columns of a log that hold tilts, or seem to.
#pragma once

#include <string>
#include <vector>

#include "evenwall/model.hpp"

namespace evenwall::internal::tables {

/// Whether a column's name suggests that it holds tilts. A log without `tilt_deg` and `tilt_units` would ignore such a column.
bool like_tilt_column(const std::vector<std::string>& columns);

/// Detects tilts that look like values in another unit.
class UnitWatch {
 public:
  /// One cell of the column tilt_deg.
  void see(const std::string& cell);
  /// `name`: of the log, escaped for display.
  void warn(const std::string& name, Warnings& warnings) const;

 private:
  double largest_ = 0;
  std::size_t tilts_ = 0;
};

}  // namespace evenwall::internal::tables
