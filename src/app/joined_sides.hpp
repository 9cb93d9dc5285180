// SPDX-License-Identifier: GPL-3.0-or-later
// Joins the left-only and the right-only band of one setting if they were recorded to two files.
#pragma once

#include <filesystem>
#include <functional>
#include <vector>

#include "evenwall/measure.hpp"
#include "evenwall/model.hpp"

namespace evenwall::internal::app {

/// Receives the measured steps of a log in their order, and passes them on in that order. Two steps of the same tilt, use and leads, of
/// which one has only a left-only and the other only a right-only passage, are measured together as one step, in the place of the first
/// one. A warning `joined` is passed on with each pair.
class JoinedSides {
 public:
  /// folder: that of the log. options: those with which the steps were measured.
  JoinedSides(std::filesystem::path folder, MeasureOptions options, std::function<void(Step)> take, std::function<void(Warning)> warn);
  void add(Step step);
  /// Joins what can be joined, and passes on all steps that are still held. Throws: Error(kInternal).
  void finish();

 private:
  bool join(Step& first, Step& second);

  std::filesystem::path folder_;
  MeasureOptions options_;
  std::function<void(Step)> take_;
  std::function<void(Warning)> warn_;
  std::vector<Step> held_;  ///< from the first step with one side only
};

}  // namespace evenwall::internal::app
