// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/capture_measurement.hpp"

#include "app/options.hpp"
#include "base/recording_name.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "evenwall/report.hpp"

namespace evenwall::internal::app {
namespace {

/// The error of a recording or, if it could be read, of the part that was measured.
ReadingError failed(const std::string& name, const MeasureOptions& options, const Error& error) {
  std::string message = error.what();
  if (message.find(base::escaped(name) + ":") == std::string::npos) {
    const bool is_read = error.kind() == ErrorKind::kData;
    message = (is_read ? base::recording_name(name, options.from_s, options.to_s) : base::escaped(name)) + ": " + message;
  }
  return {error.kind() == ErrorKind::kData ? ReadingFault::kNoAnswer : ReadingFault::kUnreadable, message};
}

}  // namespace

Measured measured(const std::filesystem::path& path, const std::string& name, const MeasureOptions& options) {
  return measured_then(path, name, options, [](AudioSource&, Measurement&) {});
}

Measured measured_then(const std::filesystem::path& path, const std::string& name, const MeasureOptions& options,
                       const std::function<void(AudioSource& audio, Measurement& measurement)>& add) {
  try {
    OpenedCapture opened = path == "-" ? open_capture_stream(kStandardInput) : open_capture(path);
    Measurement measurement = evenwall::measure(*opened.audio, options);
    measurement.warnings.insert(measurement.warnings.begin(), opened.warnings.begin(), opened.warnings.end());
    add(*opened.audio, measurement);
    return measurement;
  } catch (const Error& error) {
    if (error.kind() == ErrorKind::kInternal) throw;
    return failed(name, options, error);
  }
}

std::string rejected_in(const std::filesystem::path& path, const MeasureOptions& options) {
  try {
    const OpenedCapture opened = open_capture(path);
    return rejected_text(path.string(), rejected_stretches(*opened.audio, options));
  } catch (const Error& error) {
    if (error.kind() == ErrorKind::kInternal) throw;
    return "";  // measured() reports the reason
  }
}

MeasureOptions with_facts(MeasureOptions options, const SessionFacts& facts) {
  if (!options.frequency_hz) options.frequency_hz = facts.frequency_hz;
  if (options.bands.empty()) options.bands = facts.bands;
  if (!options.rpm) options.rpm = facts.rpm;
  return options;
}

}  // namespace evenwall::internal::app
