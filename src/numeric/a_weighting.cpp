// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/a_weighting.hpp"

#include <cassert>
#include <cmath>

namespace evenwall::internal::numeric {
namespace {

/// 20·log10 of the transfer function: four zeros at 0 Hz, double poles at the first and the last frequency, single poles at the others.
double transfer_db(double frequency_hz) {
  const double f2 = frequency_hz * frequency_hz;
  const auto pole = [&](double at_hz) { return f2 + at_hz * at_hz; };
  return 20 * std::log10(f2 * f2 / (pole(20.598997) * std::sqrt(pole(107.65265) * pole(737.86223)) * pole(12194.217)));
}

}  // namespace

double a_weighting_db(double frequency_hz) {
  assert(frequency_hz > 0);
  return transfer_db(frequency_hz) - transfer_db(1000);
}

}  // namespace evenwall::internal::numeric
