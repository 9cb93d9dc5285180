// SPDX-License-Identifier: GPL-3.0-or-later
// Determines which measurements come from the same audio.
#pragma once

#include <vector>

#include "evenwall/model.hpp"

namespace evenwall::internal::app {

/// A number of a measurement, and the amount by which another processor's arithmetic may change it (1e-9 of its magnitude).
struct MeasuredNumber {
  double value;
  double tolerance;
};

/// The numbers that the audio determines: its facts, each passage with its levels, each complex crosstalk value. The file's name and
/// encoding, and values that depend on how it was measured, are not among them. Empty if there is no audio (a row of a meter table).
std::vector<MeasuredNumber> numbers_measured(const Measurement& measurement);

/// Appends a number that another processor may change by 1e-9 of its magnitude, or of 1.
void add_number(std::vector<MeasuredNumber>& numbers, double value);

/// Whether both lists come from the same audio: they are not empty, and each number agrees within the tolerances. Because of noise, two
/// recordings cannot agree in a dozen numbers of 15 digits. The same samples give the same numbers in every file format.
bool same_measurement(const std::vector<MeasuredNumber>& a, const std::vector<MeasuredNumber>& b);
bool same_measurement(const Measurement& a, const Measurement& b);

/// Groups the measurements that share their audio with another one. Each group lists its indices in ascending order; the groups are sorted
/// by their first index.
/// Cost: n log n. A weighted sum of a measurement's numbers sorts the measurements, and only those with equal sums are compared.
std::vector<std::vector<std::size_t>> measurements_of_same_audio(const std::vector<const Measurement*>& measurements);

}  // namespace evenwall::internal::app
