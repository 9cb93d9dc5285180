// SPDX-License-Identifier: GPL-3.0-or-later
// Solutions -> Survey.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenwall/model.hpp"

namespace evenwall {

struct SurveyOptions {
  std::optional<std::string> grouped_by;  ///< the key that ArchivedSolution::group was taken from
};

/// Parts an archive's least-crosstalk tilts into what is the cartridges', what is the records' and what is neither:
/// tilt_ij = mean + cartridge_i + record_j + error_ij, all three random, variances by restricted maximum likelihood.
///
/// The order of the solutions has no effect, bit for bit. Solutions without a cartridge, without a record among others that have one,
/// copies of others, and those that the others contradict are left out and named in `warnings`.
/// Throws: Error(kData) where fewer than two solutions are left.
/// Accuracy: the variances to 6 digits of published values (tests/published/mixed_model_test.cpp).
/// Source: docs/method.md, "Many cartridges".
Survey survey(std::vector<ArchivedSolution> solutions, const SurveyOptions& options);

/// What was found of a record, or why nothing was.
struct RecordLookup {
  std::optional<RecordCorrection> correction;
  std::string why_not;  ///< where there is none
};

/// What a survey says of the record side that a session names: its cut error in degrees (sessions on it find tilts that are too high by
/// this), with the uncertainty of the records' mean in u_deg. `name`: of the survey, for people. A session without a
/// record, or a record that the survey lacks or can't tell, has no correction.
RecordLookup record_correction_of(const Survey& survey, const std::string& name, const SessionFacts& session);

}  // namespace evenwall
