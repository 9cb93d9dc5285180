// SPDX-License-Identifier: GPL-3.0-or-later
// Builds pieces of an HTML page. Parameters called text are escaped here; parameters called html must be escaped already.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "report/page.hpp"

namespace evenwall::internal::report {

/// The text escaped for an element or a quoted attribute: & < > " ' become references, control and direction marks become visible.
std::string html_escaped(std::string_view text);

/// <tag attributes>html</tag>
std::string element(std::string_view tag, std::string_view html, std::string_view attributes = "");

/// A paragraph of text.
std::string html_paragraph(std::string_view text, std::string_view attributes = "");

/// A list with one item per text.
std::string html_list(const std::vector<std::string>& texts);

/// A table; its first row and first column are headings. Each cell carries its column's name, so that a narrow screen can show a row as a
/// card.
/// Requires: all rows of one length.
std::string html_table(const TextTable& table, std::string_view caption);

}  // namespace evenwall::internal::report
