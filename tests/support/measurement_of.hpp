// SPDX-License-Identifier: GPL-3.0-or-later
// What a step holds, to be looked at or spoilt by a test.
#pragma once

#include <variant>

#include "evenwall/model.hpp"

/// Throws: std::bad_variant_access where the step has an error instead.
inline evenwall::Measurement& measurement_of(evenwall::Step& step) { return std::get<evenwall::Measurement>(step.result); }
inline const evenwall::Measurement& measurement_of(const evenwall::Step& step) { return std::get<evenwall::Measurement>(step.result); }
