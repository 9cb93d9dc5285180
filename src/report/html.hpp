// SPDX-License-Identifier: GPL-3.0-or-later
// Pieces of an HTML page. Whatever is called a text is escaped here; whatever is called HTML has been.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "report/page.hpp"

namespace evenwall::internal::report {

/// A text as it may stand in an element or in a quoted attribute: & < > " ' as references, control and direction marks made visible.
std::string html_escaped(std::string_view text);

/// <tag attributes>html</tag>
std::string element(std::string_view tag, std::string_view html, std::string_view attributes = "");

/// A paragraph of text.
std::string html_paragraph(std::string_view text, std::string_view attributes = "");

/// Each text an item.
std::string html_list(const std::vector<std::string>& texts);

/// A table whose first row and first column are heads. Each cell carries its column's name, so that a narrow screen can show it as a card.
/// Requires: all rows of one length.
std::string html_table(const TextTable& table, std::string_view caption);

}  // namespace evenwall::internal::report
