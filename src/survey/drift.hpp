// SPDX-License-Identifier: GPL-3.0-or-later
// Tests whether the results of an archive drift with time.
#pragma once

#include <string_view>

#include "survey/archive.hpp"

namespace evenwall::internal::survey {

/// Years since 2000-01-01, a year being 365.25 days; a date without day or month counts as the middle of its month or year. Nothing if
/// the text is not a date.
std::optional<double> years_of(std::string_view date);

/// Fits a straight line of the tilts against date together with both effects, and tests its slope by Student's t. Nothing if there are
/// fewer than three different dates.
std::optional<SurveyDrift> drift_of(const Archive& archive);

}  // namespace evenwall::internal::survey
