// SPDX-License-Identifier: GPL-3.0-or-later
// Shows the documents as text and as HTML pages in UTF-8. Names from outside are made harmless for a terminal or a browser.
#pragma once

#include <string>
#include <vector>

#include "evenwall/model.hpp"

namespace evenwall {

/// A value with its standard uncertainty in the same unit. The uncertainty is rounded to two significant digits, the value to the same
/// decimal place: "1.1043 ± 0.0021".
std::string value_with_uncertainty(double value, double u);

/// One capture's table, at most 80 columns. `colour`: ANSI bold and colours.
std::string reading_text(const Reading& reading, bool colour);

/// The tone-like stretches of a capture that were rejected, with the reasons, at most 80 columns. Without any, the text states that.
std::string rejected_text(const std::string& capture, const std::vector<RejectedStretch>& rejected);

/// The electronics' crosstalk at each tone, at most 80 columns.
std::string calibration_text(const Calibration& calibration, bool colour);

/// The solution in brief, answer first: at most 24 lines of 80 columns.
std::string solution_brief(const Solution& solution, bool colour);

/// The whole solution, answer first, at most 80 columns.
std::string solution_text(const Solution& solution, bool colour);

/// The survey, answer first, at most 80 columns. A long table is cut, and the text states that.
std::string survey_text(const Survey& survey, bool colour);

/// The solution as a self-contained HTML page: no script, no network, for A4 and narrow screens, light and dark. gnuplot draws its charts,
/// as a child process that receives only numbers. If gnuplot does not run, the page states that. Throws: Error(kData) if the solution
/// recommends no tilt.
std::string solution_page(const Solution& solution);

/// The survey as a page of the same kind. A long table is cut, and the page states that. Throws: Error(kData) if it holds no cartridge.
std::string survey_page(const Survey& survey);

/// Crosstalk in both directions against tilt, drawn in characters, at most 80 columns and 24 lines.
std::string crosstalk_chart_text(const Solution& solution);

}  // namespace evenwall
