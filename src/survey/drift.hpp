// SPDX-License-Identifier: GPL-3.0-or-later
// Whether the rig drifts.
#pragma once

#include <string_view>

#include "survey/archive.hpp"

namespace evenwall::internal::survey {

/// Years since 2000-01-01, a year being 365.25 days; a date without day or month stands for its middle. Nothing where it is no date.
std::optional<double> years_of(std::string_view date);

/// A straight line of the tilts against date beside both effects, tested by Student's t. Nothing without three dates that differ.
std::optional<SurveyDrift> drift_of(const Archive& archive);

}  // namespace evenwall::internal::survey
