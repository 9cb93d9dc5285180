// SPDX-License-Identifier: GPL-3.0-or-later
// gnuplot's SVG, made a part of a page.
#pragma once

#include <optional>
#include <string>

namespace evenwall::internal::report {

/// gnuplot's SVG made fit to stand in a page of ours: ids carry `name`, the placeholder colours become the page's, title and description
/// are told to who can't see it. `name` is a word of ours; title and description are texts. Nothing where the document is no such SVG.
std::optional<std::string> inline_svg(const std::string& document, const std::string& name, const std::string& title,
                                      const std::string& description);

}  // namespace evenwall::internal::report
