// SPDX-License-Identifier: GPL-3.0-or-later
// Turns gnuplot's SVG document into a part of a page.
#pragma once

#include <optional>
#include <string>

namespace evenwall::internal::report {

/// gnuplot's SVG as a part of a page: its ids carry `name`, the placeholder colours become the page's, and title and description are there
/// for readers who cannot see it. `name` is a fixed word of this program; title and description are texts and are escaped here. Returns
/// nothing if the document is not such an SVG.
std::optional<std::string> inline_svg(const std::string& document, const std::string& name, const std::string& title,
                                      const std::string& description);

}  // namespace evenwall::internal::report
