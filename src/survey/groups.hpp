// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the mean tilt of each group of cartridges.
#pragma once

#include <vector>

#include "survey/archive.hpp"

namespace evenwall::internal::survey {

/// Fits each group's cartridges separately, after subtraction of the records' cutting-azimuth errors (in the order of archive.records;
/// absent: zero). Each mean's uncertainty includes `u_records_mean_deg`. Solutions without a group are ignored.
std::vector<SurveyedGroup> groups_of(const Archive& archive, const std::vector<SurveyedRecord>& records, OptionalNumber u_records_mean_deg);

}  // namespace evenwall::internal::survey
