// SPDX-License-Identifier: GPL-3.0-or-later
// What the HTML pages share: head, sections, charts, warnings.
#pragma once

#include <string>
#include <vector>

#include "evenwall/model.hpp"
#include "report/chart_frame.hpp"

namespace evenwall::internal::report {

inline constexpr std::size_t kMostPageRows = 40;  // of one table of a survey's page; the document and --csv have all

/// A whole page. `title` is a text, `body` is HTML.
std::string html_document(const std::string& title, const std::string& body);

/// `name` is a word of ours and unique on the page; `html` its content.
std::string html_section(const char* name, const std::string& html);

std::string html_heading(const char* words);

std::string html_paragraphs(const std::vector<std::string>& texts);

/// A table that turns into cards where the screen is narrow.
std::string wide(const std::string& table);

/// The charts that gnuplot drew; where it did not run, a note says so.
std::string html_charts(const std::vector<Chart>& charts, const char* list_class);

/// Each warning by its code, at most `most` of them, and how many more there are.
std::string html_warnings(const Warnings& warnings, std::size_t most);

}  // namespace evenwall::internal::report
