// SPDX-License-Identifier: GPL-3.0-or-later
// Makes the tables of a survey's page. The cells are texts, escaped for a terminal and at most a few lines long.
#pragma once

#include "evenwall/model.hpp"
#include "report/page.hpp"

namespace evenwall::internal::report {

/// The cartridges, or the records, that a page shows, ordered by tilt or by cutting-azimuth error and numbered from 1. If not all fit,
/// those furthest from the mean are chosen.
std::vector<const SurveyedCartridge*> shown_cartridges(const Survey& survey);
std::vector<const SurveyedRecord*> shown_records(const Survey& survey);

/// "3. Larkspur 1": the number is the one in the charts.
std::string numbered(std::size_t number, const std::string& name);

TextTable spread_table(const Survey& survey);
TextTable record_table(const Survey& survey);
TextTable cartridge_table(const Survey& survey);
TextTable group_table(const Survey& survey);
TextTable bad_solution_table(const Survey& survey);

}  // namespace evenwall::internal::report
