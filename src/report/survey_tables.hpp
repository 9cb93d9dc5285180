// SPDX-License-Identifier: GPL-3.0-or-later
// The tables of a survey's page. Cells are texts, escaped for a terminal; none is longer than a few lines.
#pragma once

#include "evenwall/model.hpp"
#include "report/page.hpp"

namespace evenwall::internal::report {

/// What a page shows of the cartridges, or of the records, numbered from 1 by tilt: the most that fit, furthest off first chosen.
std::vector<const SurveyedCartridge*> shown_cartridges(const Survey& survey);
std::vector<const SurveyedRecord*> shown_records(const Survey& survey);

/// "3. Larkspur 1": the number that the charts have.
std::string numbered(std::size_t number, const std::string& name);

TextTable spread_table(const Survey& survey);
TextTable record_table(const Survey& survey);
TextTable cartridge_table(const Survey& survey);
TextTable group_table(const Survey& survey);
TextTable bad_solution_table(const Survey& survey);

}  // namespace evenwall::internal::report
