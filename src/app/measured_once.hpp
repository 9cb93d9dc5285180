// SPDX-License-Identifier: GPL-3.0-or-later
// Keeps what was measured, so that a recording is not measured again while it does not change.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <mutex>
#include <string>

#include "app/capture_measurement.hpp"

namespace evenwall::internal::app {

class MeasuredOnce {
 public:
  /// `is_awaited`: whether a file is still being written; such a file is not measured, and its step gets an error that states so. `measure`
  /// measures a file that is not known yet. Both are called by several threads at a time.
  MeasuredOnce(std::function<bool(const std::filesystem::path&)> is_awaited, MeasureCapture measure)
      : is_awaited_(std::move(is_awaited)), measure_(std::move(measure)) {}

  /// The measurement of this file in its present state with these options, or the reason why there is none. A failure of the system is
  /// not kept: the next call tries again. Several threads may call it at a time.
  Measured of(const std::filesystem::path& path, const std::string& name, const MeasureOptions& options);
  /// Whether of() would measure the file, because it is not known in this state and with these options.
  [[nodiscard]] bool is_new(const std::filesystem::path& path, const MeasureOptions& options) const;

 private:
  struct Kept {
    Measured result;
    std::uint64_t used = 0;  ///< number of the call that used it last
  };
  void keep(const std::string& key, const Measured& result);

  std::function<bool(const std::filesystem::path&)> is_awaited_;
  MeasureCapture measure_;
  mutable std::mutex guard_;
  std::map<std::string, Kept> kept_;
  std::uint64_t calls_ = 0;
};

}  // namespace evenwall::internal::app
