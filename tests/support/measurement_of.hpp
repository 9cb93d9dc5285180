// SPDX-License-Identifier: GPL-3.0-or-later
// Returns the measurement of a step, so that a test can read or change it.
#pragma once

#include <variant>

#include "evenwall/model.hpp"

/// Throws: std::bad_variant_access if the step has an error instead.
inline evenwall::Measurement& measurement_of(evenwall::Step& step) { return std::get<evenwall::Measurement>(step.result); }
inline const evenwall::Measurement& measurement_of(const evenwall::Step& step) { return std::get<evenwall::Measurement>(step.result); }
