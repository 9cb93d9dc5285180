// SPDX-License-Identifier: GPL-3.0-or-later
// Reads steps.csv row by row and holds only the position of each row in the text.
#pragma once

#include <memory>
#include <string>
#include <variant>
#include <vector>

#include "evenwall/files.hpp"
#include "tables/csv_table.hpp"

namespace evenwall::internal::tables {

/// The rows of a log; each is made when it is requested. Memory: the text and about ten bytes a row; while it is read, 200 a row.
class LoggedSteps {
 public:
  /// Checks every row. Throws: Error(kInput) as read_step_log does.
  explicit LoggedSteps(const fs::path& path);
  LoggedSteps(LoggedSteps&&) noexcept;
  LoggedSteps& operator=(LoggedSteps&&) noexcept;
  ~LoggedSteps();

  /// The number of rows that can be used and of the first few that cannot; both kinds keep the order of the log.
  [[nodiscard]] std::size_t size() const;
  /// Requires: index < size(). May be called by several threads at a time.
  [[nodiscard]] std::variant<LogEntry, BadRow> row(std::size_t index) const;
  [[nodiscard]] const Warnings& warnings() const;

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

}  // namespace evenwall::internal::tables
