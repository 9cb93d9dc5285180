// SPDX-License-Identifier: GPL-3.0-or-later
// Describes a survey in sentences, which are the same on every page. Texts of the document are escaped for a terminal, not for HTML.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "evenwall/model.hpp"

namespace evenwall::internal::report {

/// The greatest width of a name in a sentence or a table.
inline constexpr std::size_t kNameColumns = 60;

/// The azimuth that cartridges need on average, with its 95 % interval.
std::string survey_answer(const Survey& survey);

/// Introduces the azimuth, and states the conditions and the standard uncertainty of the answer.
std::string answer_note(const Survey& survey);

/// "119 solutions, 60 cartridges, 3 record sides."
std::string survey_size(const Survey& survey);

/// The standard deviation between cartridges, and that of one session about its expected tilt.
std::vector<std::string> spread_sentences(const Survey& survey);

/// The record with the largest cutting-azimuth error and that error, and the limits of this result.
std::vector<std::string> record_sentences(const Survey& survey);

/// Whether the rig drifts.
std::string drift_sentence(const Survey& survey);

/// How many contradicted solutions and warnings were found.
std::string named_sentence(const Survey& survey);

/// A tilt, with decimals that match its standard uncertainty if it has one.
std::string tilt_text(double tilt_deg, const OptionalNumber& u_deg);

/// A standard uncertainty, or "n/a".
std::string u_text(const OptionalNumber& u_deg);

/// A 95 % interval, or "n/a".
std::string bounds_text(const std::optional<Interval>& interval, const OptionalNumber& u_deg);

/// A standard deviation, or "not determined".
std::string spread_text(const OptionalNumber& spread_deg);

std::vector<const SurveyedCartridge*> furthest_from_mean(const Survey& survey);

}  // namespace evenwall::internal::report
