// SPDX-License-Identifier: GPL-3.0-or-later
// Which readings were measured from the same audio.
#pragma once

#include <vector>

#include "evenwall/model.hpp"

namespace evenwall::internal::app {

/// A number of a reading, and by how much another processor's arithmetic may change it (1e-9 of its magnitude).
struct MeasuredNumber {
  double value;
  double tolerance;
};

/// What a reading's audio determines: its facts, each passage with its levels, each complex crosstalk value. Not the file's name or
/// encoding, the log entry, or what depends on how it was measured. Empty if the reading has no audio: a failed reading, a meter's row.
std::vector<MeasuredNumber> numbers_measured(const Reading& reading);

/// Appends a number that another processor may change by 1e-9 of its magnitude, or of 1.
void add_number(std::vector<MeasuredNumber>& numbers, double value);

/// Whether both lists are of the same audio: not empty, and equal number for number within the tolerances. Noise makes it impossible that
/// two recordings agree in a dozen numbers of 15 digits; the same samples give the same numbers in every file format.
bool same_measurement(const std::vector<MeasuredNumber>& a, const std::vector<MeasuredNumber>& b);
bool same_measurement(const Reading& a, const Reading& b);

/// The readings that share their audio with another one: a list of ascending indices each, in the order of their first.
/// Cost: n log n. A weighted sum of a reading's numbers sorts the readings, and only those with equal sums are compared.
std::vector<std::vector<std::size_t>> readings_of_same_audio(const std::vector<const Reading*>& readings);

}  // namespace evenwall::internal::app
