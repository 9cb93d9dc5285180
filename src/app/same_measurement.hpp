// SPDX-License-Identifier: GPL-3.0-or-later
// Which measurements are of the same audio.
#pragma once

#include <vector>

#include "evenwall/model.hpp"

namespace evenwall::internal::app {

/// A number of a measurement, and by how much another processor's arithmetic may change it (1e-9 of its magnitude).
struct MeasuredNumber {
  double value;
  double tolerance;
};

/// What the audio determines: its facts, each passage with its levels, each complex crosstalk value. Not the file's name or
/// encoding, or what depends on how it was measured. Empty if there is no audio: a meter's row.
std::vector<MeasuredNumber> numbers_measured(const Measurement& measurement);

/// Appends a number that another processor may change by 1e-9 of its magnitude, or of 1.
void add_number(std::vector<MeasuredNumber>& numbers, double value);

/// Whether both lists are of the same audio: not empty, and equal number for number within the tolerances. Noise makes it impossible that
/// two recordings agree in a dozen numbers of 15 digits; the same samples give the same numbers in every file format.
bool same_measurement(const std::vector<MeasuredNumber>& a, const std::vector<MeasuredNumber>& b);
bool same_measurement(const Measurement& a, const Measurement& b);

/// The measurements that share their audio with another one: a list of ascending indices each, in the order of their first.
/// Cost: n log n. A weighted sum of a measurement's numbers sorts the measurements, and only those with equal sums are compared.
std::vector<std::vector<std::size_t>> measurements_of_same_audio(const std::vector<const Measurement*>& measurements);

}  // namespace evenwall::internal::app
