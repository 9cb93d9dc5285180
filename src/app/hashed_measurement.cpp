// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/hashed_measurement.hpp"

#include <optional>

#include "evenwall/files.hpp"
#include "storage/file_stamp.hpp"

namespace evenwall::internal::app {

Measured HashedMeasurement::of(const std::filesystem::path& path, const std::string& name, const MeasureOptions& options) {
  // Standard input and pipes have no stamp; they are read only once.
  const auto stamp = path == "-" ? std::nullopt : storage::stamp_of(path);
  const std::string key = stamp ? storage::stamp_text(*stamp) + " " + path.lexically_normal().native() : "";
  return measured_then(path, name, options, [&](AudioSource& audio, Measurement& measurement) {
    if (stamp && storage::stamp_of(path) == stamp) {
      const std::lock_guard lock(guard_);
      if (const auto at = known_.find(key); at != known_.end()) {
        measurement.audio.sha256 = at->second;
        return;
      }
    }
    measurement.audio.sha256 = sha256_of_frames(audio);
    if (!stamp || storage::stamp_of(path) != stamp) return;
    const std::lock_guard lock(guard_);
    known_.insert_or_assign(key, *measurement.audio.sha256);
  });
}

MeasureCapture HashedMeasurement::as_function() {
  return
      [this](const std::filesystem::path& path, const std::string& name, const MeasureOptions& options) { return of(path, name, options); };
}

}  // namespace evenwall::internal::app
