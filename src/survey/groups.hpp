// SPDX-License-Identifier: GPL-3.0-or-later
// Means by group.
#pragma once

#include <vector>

#include "survey/archive.hpp"

namespace evenwall::internal::survey {

/// Each group's cartridges on their own, the records' cut errors (in the order of archive.records; absent: zero) taken out first.
/// `u_records_mean_deg` joins each mean's uncertainty. Solutions without a group are not in any.
std::vector<SurveyedGroup> groups_of(const Archive& archive, const std::vector<SurveyedRecord>& records, OptionalNumber u_records_mean_deg);

}  // namespace evenwall::internal::survey
