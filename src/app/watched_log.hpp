// SPDX-License-Identifier: GPL-3.0-or-later
// Reads from the log of a watched session which recordings have a row, and how a row can be added.
#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "evenwall/model.hpp"
#include "storage/file_stamp.hpp"
#include "tables/log_row.hpp"

namespace evenwall::internal::app {

/// The log of a folder at one moment.
class WatchedLog {
 public:
  /// Reads FOLDER/steps.csv. A log that is missing or cannot be read has no rows. Throws: nothing but std::bad_alloc.
  explicit WatchedLog(const std::filesystem::path& folder);

  [[nodiscard]] bool exists() const { return stamp_.has_value(); }
  /// The rows of a file in the folder; empty if it has none.
  [[nodiscard]] std::vector<LogEntry> rows_of(const std::string& name) const;
  /// Whether the rows are known: the log is missing, or it has a header row that can be used.
  [[nodiscard]] bool is_readable() const { return readable_; }
  /// Whether the log has a header row that can be used, and no row below it.
  [[nodiscard]] bool is_new() const { return is_new_; }
  /// The columns for what a user types. Without a log, those of the log that add_row() makes.
  [[nodiscard]] const tables::AnswerColumns& columns() const { return columns_; }
  /// Adds a row to the log, in its style. `answer`: as tables::typed_answer returns it. Returns false, with nothing done, if the log has
  /// changed since it was read. Throws: Error(kInput) if it cannot be written.
  [[nodiscard]] bool add_row(const std::string& name, const tables::TypedAnswer& answer) const;

 private:
  void read();

  std::filesystem::path folder_, path_;
  std::optional<storage::FileStamp> stamp_;
  std::string text_;
  std::map<std::filesystem::path, std::vector<LogEntry>> rows_;  // by the path of the recording
  tables::AnswerColumns columns_;
  bool readable_ = false;
  bool is_new_ = false;
};

}  // namespace evenwall::internal::app
