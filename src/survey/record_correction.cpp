// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "evenwall/survey.hpp"
#include "numeric/distributions.hpp"
#include "survey/archive.hpp"
#include "survey/method_constants.hpp"

namespace evenwall::internal::survey {
namespace {

/// The standard uncertainty of a normal distribution with a 95 % interval as wide as that of Student's t.
double as_normal(double u, double degrees_of_freedom) {
  return u * numeric::student_quantile(0.975, std::max(1.0, degrees_of_freedom)) / numeric::kNormal95;
}

}  // namespace
}  // namespace evenwall::internal::survey

namespace evenwall {

RecordLookup record_correction_of(const Survey& survey, const std::string& name, const SessionFacts& session) {
  if (!session.record) return {std::nullopt, "the session does not state its record (session.json, key record)"};
  const std::string shown = internal::survey::RecordName{*session.record, session.record_side}.shown();
  const auto at = std::find_if(survey.records.begin(), survey.records.end(), [&](const SurveyedRecord& r) {
    return r.record == *session.record && r.record_side == session.record_side;
  });
  if (at == survey.records.end()) return {std::nullopt, fmt::format("{} is not in {}", shown, name)};
  if (!at->cut_error_deg || !at->u_deg || !survey.u_records_mean_deg)
    return {std::nullopt, fmt::format("{} does not determine the cutting-azimuth error of {}", name, shown)};
  const auto records = static_cast<double>(survey.records.size());
  const double u_own = internal::survey::as_normal(*at->u_deg, at->degrees_of_freedom.value_or(1));
  const double u_mean = internal::survey::as_normal(*survey.u_records_mean_deg, records - 1);
  return {RecordCorrection{name, shown, *at->cut_error_deg, std::hypot(u_own, u_mean)}, ""};
}

}  // namespace evenwall
