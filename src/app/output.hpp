// SPDX-License-Identifier: GPL-3.0-or-later
// Writes a command's documents: to standard output as they come, or whole to a file at the end.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "app/console.hpp"
#include "evenwall/files.hpp"

namespace evenwall::internal::app {

/// Whether two paths lead to one file, even if it does not exist yet.
bool same_file(const std::string& a, const std::string& b);

/// Throws: Error(kInput) if the output is one of the inputs, standard input included. Device and inode are compared, not names.
void refuse_input_as_output(const std::string& path, const std::vector<std::string>& inputs);

/// Refuses an output that cannot be written or that is one of the inputs, before any work is done. Also refuses to replace readings, a
/// calibration or a simulation's true values, unless their schema begins with `own_schema` ("evenwall/reading/"). Throws: Error(kInput).
void check_output(const std::string& path, const std::vector<std::string>& inputs, WriteKind kind = WriteKind::kWhole,
                  std::string_view own_schema = "");

class Output {
 public:
  Output(Console& console, std::optional<std::string> path) : console_(console), path_(std::move(path)) {}

  void add(const std::string& text);
  /// Writes the file, if there is one. Throws: Error(kInput).
  void finish();
  [[nodiscard]] bool to_file() const { return path_.has_value(); }
  [[nodiscard]] bool colour() const { return !path_ && console_.colour(); }

 private:
  Console& console_;
  std::optional<std::string> path_;
  std::string held_;
};

}  // namespace evenwall::internal::app
