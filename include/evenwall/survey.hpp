// SPDX-License-Identifier: GPL-3.0-or-later
// Separates the tilts of an archive of solutions into the cartridges' and the records' parts.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenwall/model.hpp"

namespace evenwall {

struct SurveyOptions {
  std::optional<std::string> grouped_by;  ///< the key from which ArchivedSolution::group was taken
};

/// Separates an archive's least-crosstalk tilts into the cartridges' part, the records' part and a residual:
/// tilt_ij = mean + cartridge_i + record_j + error_ij. The last three are random, with variances by restricted maximum likelihood.
///
/// The order of the solutions has no effect, bit for bit. Four kinds of solutions are excluded and named in `warnings`: those without a
/// cartridge, those without a record if others have one, copies of others, and those that the others contradict.
/// Throws: Error(kData) if fewer than two solutions remain.
/// Accuracy: the variances agree to 6 digits with published values (tests/published/mixed_model_test.cpp).
/// Source: docs/method.md, "Many cartridges".
Survey survey(std::vector<ArchivedSolution> solutions, const SurveyOptions& options);

/// The correction for a record, or the reason why there is none.
struct RecordLookup {
  std::optional<RecordCorrection> correction;
  std::string why_not;  ///< if there is no correction
};

/// Looks up the record side that a session names in a survey: its cut error in degrees (sessions on it find tilts that are too high by
/// this), with the uncertainty of the records' mean included in u_deg. `name`: name of the survey, for people. There is no correction if
/// the session names no record, or if the survey lacks the record or does not determine its cut error.
RecordLookup record_correction_of(const Survey& survey, const std::string& name, const SessionFacts& session);

}  // namespace evenwall
