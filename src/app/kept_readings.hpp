// SPDX-License-Identifier: GPL-3.0-or-later
// Finds out whether a file of readings (.jsonl) already holds a reading.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "app/same_measurement.hpp"
#include "storage/unfinished.hpp"

namespace evenwall::internal::app {

class KeptReadings {
 public:
  explicit KeptReadings(std::filesystem::path path) : path_(std::move(path)) {}

  struct Held {
    std::string capture;
    bool has_sha256 = false;
  };
  /// The capture under which the file holds this reading, and whether it has a SHA-256 there: the same audio with the same log entry,
  /// session facts and frequency. Also reads the lines that other programs have added meanwhile. Lines that are not readings are skipped,
  /// and so is a file of more than 64 MiB. Throws: Error(kInput) if the file cannot be read.
  std::optional<Held> holding(const Reading& reading);

 private:
  struct Kept {
    Held held;
    std::string entry;
    std::vector<MeasuredNumber> numbers;
  };
  void read_on();

  std::filesystem::path path_;
  storage::FileIdentity file_;
  std::size_t bytes_read_ = 0;
  std::vector<Kept> kept_;
};

}  // namespace evenwall::internal::app
