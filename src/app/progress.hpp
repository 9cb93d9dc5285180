// SPDX-License-Identifier: GPL-3.0-or-later
// How far long work has come, on terminals only.
#pragma once

#include <chrono>
#include <functional>
#include <string>

#include "app/console.hpp"

namespace evenwall::internal::app {

/// Told after each part: how many are done, of how many.
using ProgressTold = std::function<void(std::size_t done, std::size_t all)>;

/// "[####------] 12 of 30 captures, 40 s left", at most 79 columns for a short word. The time left is the mean time of what is done, for
/// what is not; nothing of it is said before the first second.
std::string progress_text(const std::string& what, std::size_t done, std::size_t all, double elapsed_s);

/// "40 s", "3 min", "2 h 10 min": rounded as coarsely as such a guess deserves.
std::string duration_text(double seconds);

class Progress {
 public:
  /// `what`: the parts, in the plural.
  Progress(Console& console, std::string what) : console_(console), what_(std::move(what)) {}
  /// Shown some ten times a second at most.
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
