// SPDX-License-Identifier: GPL-3.0-or-later
// Builds the parts that the HTML pages share: head, sections, charts, warnings.
#pragma once

#include <string>
#include <vector>

#include "evenwall/model.hpp"
#include "report/chart_frame.hpp"

namespace evenwall::internal::report {

inline constexpr std::size_t kMostPageRows = 40;  // of one table of a survey's page; the document and --csv have all rows

/// A whole page. `title` is a text, `body` is HTML.
std::string html_document(const std::string& title, const std::string& body);

/// A section. `name` is a fixed word of this program and unique on the page; `html` is the section's content.
std::string html_section(const char* name, const std::string& html);

std::string html_heading(const char* words);

std::string html_paragraphs(const std::vector<std::string>& texts);

/// A table that turns into cards if the screen is narrow.
std::string wide(const std::string& table);

/// The charts that gnuplot drew. If a chart could not be drawn, a note states that charts are missing.
std::string html_charts(const std::vector<Chart>& charts, const char* list_class);

/// A list of at most `most` warnings with their codes, and the number of the remaining ones.
std::string html_warnings(const Warnings& warnings, std::size_t most);

}  // namespace evenwall::internal::report
