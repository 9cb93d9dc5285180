// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/kept_readings.hpp"

#include <sys/stat.h>

#include "app/options.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"

namespace evenwall::internal::app {
namespace {

/// The log entry of a reading, and the session's facts, as one text.
std::string entry_of(const Reading& reading) {
  LogEntry log = reading.step.log;
  log.capture.clear();
  return to_json(Reading{{log, Measurement{}}, reading.session});
}

/// The numbers that the audio determines, and the frequency chosen for the crosstalk.
std::vector<MeasuredNumber> numbers_of(const Measurement& measurement) {
  std::vector<MeasuredNumber> numbers = numbers_measured(measurement);
  if (!numbers.empty()) add_number(numbers, measurement.crosstalk.frequency_hz);
  return numbers;
}

}  // namespace

std::optional<KeptReadings::Held> KeptReadings::holding(const Reading& reading) {
  read_on();
  if (!reading.step.measurement()) return std::nullopt;
  const std::vector<MeasuredNumber> numbers = numbers_of(*reading.step.measurement());
  const std::string entry = entry_of(reading);
  for (const Kept& kept : kept_) {
    if (kept.entry == entry && same_measurement(kept.numbers, numbers)) return kept.held;
  }
  return std::nullopt;
}

void KeptReadings::read_on() {
  struct stat status {};
  // A longer file is not compared by content. append_line_once still compares the line itself, under the lock.
  if (::stat(path_.c_str(), &status) != 0 || status.st_size > static_cast<off_t>(kMostText_bytes)) return;
  const std::string text = read_text(path_, kMostText_bytes);
  if (text.size() < bytes_read_ || !(storage::identity_of(status) == file_)) {  // another program has replaced the file
    bytes_read_ = 0;
    kept_.clear();
    file_ = storage::identity_of(status);
  }
  const std::size_t end = text.rfind('\n') + 1;  // the rest may be half a line that another program is writing; 0 without a line end
  if (end <= bytes_read_) return;
  for (const ReadingLine& line : reading_lines(std::string_view(text).substr(bytes_read_, end - bytes_read_))) {
    try {
      const Reading reading = reading_from_line(line, "");
      const Measurement* measurement = reading.step.measurement();
      if (measurement != nullptr)
        kept_.push_back({{reading.step.log.capture, measurement->audio.sha256.has_value()}, entry_of(reading), numbers_of(*measurement)});
    } catch (const Error& error) {
      if (error.kind() == ErrorKind::kInternal) throw;
    }
  }
  bytes_read_ = end;
}

}  // namespace evenwall::internal::app
