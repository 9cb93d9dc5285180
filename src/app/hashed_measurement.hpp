// SPDX-License-Identifier: GPL-3.0-or-later
// Measures captures, and adds the SHA-256 of all their frames.
#pragma once

#include <filesystem>
#include <map>
#include <mutex>
#include <string>

#include "app/capture_measurement.hpp"

namespace evenwall::internal::app {

/// A file of which many steps use stretches is hashed once, and not once for each step. (If several threads begin with it at the same
/// time, each of them hashes it.)
class HashedMeasurement {
 public:
  /// measured(), with the SHA-256 in the measurement. It is computed from the file that was measured, after the measurement; a file that
  /// changed meanwhile gives an error. Several threads may call it at a time.
  Measured of(const std::filesystem::path& path, const std::string& name, const MeasureOptions& options);
  /// of() as a function, which must not outlive this object.
  MeasureCapture as_function();

 private:
  std::mutex guard_;
  std::map<std::string, std::string> known_;  ///< the SHA-256 by the path and state of a file
};

}  // namespace evenwall::internal::app
