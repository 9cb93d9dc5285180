// SPDX-License-Identifier: GPL-3.0-or-later
// Shows the progress of long work, on terminals only.
#pragma once

#include <chrono>
#include <functional>
#include <string>

#include "app/console.hpp"

namespace evenwall::internal::app {

/// Called after each part with the number of parts that are done and of all parts.
using ProgressTold = std::function<void(std::size_t done, std::size_t all)>;

/// "[####------] 12 of 30 captures, 40 s left", at most 79 columns for a short word. The time left is the mean time of the parts done,
/// times the number of parts left. It is not shown before the first second.
std::string progress_text(const std::string& what, std::size_t done, std::size_t all, double elapsed_s);

/// "40 s", "3 min", "2 h 10 min": rounded coarsely, because it is an estimate.
std::string duration_text(double seconds);

class Progress {
 public:
  /// `what`: the word for the parts, in the plural.
  Progress(Console& console, std::string what) : console_(console), what_(std::move(what)) {}
  /// Shows the progress, at most about ten times per second.
  void tell(std::size_t done, std::size_t all);
  [[nodiscard]] ProgressTold told() {
    return [this](std::size_t done, std::size_t all) { tell(done, all); };
  }

 private:
  using Clock = std::chrono::steady_clock;
  Console& console_;
  std::string what_;
  Clock::time_point start_ = Clock::now();
  Clock::time_point shown_ = start_ - std::chrono::hours(1);
};

}  // namespace evenwall::internal::app
