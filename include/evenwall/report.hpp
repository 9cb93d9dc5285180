// SPDX-License-Identifier: GPL-3.0-or-later
// Views of the documents for people: UTF-8, every name from outside made harmless for a terminal or a browser.
#pragma once

#include <string>
#include <vector>

#include "evenwall/model.hpp"

namespace evenwall {

/// A value with its standard uncertainty, same unit; the uncertainty rounded to two significant digits and the value to match:
/// "1.1043 ± 0.0021".
std::string value_with_uncertainty(double value, double u);

/// One capture's table, at most 80 columns. `colour`: ANSI bold and colours.
std::string reading_text(const Reading& reading, bool colour);

/// What sounded like a tone in a capture and is none, with the reason, at most 80 columns. Nothing rejected: says so.
std::string rejected_text(const std::string& capture, const std::vector<RejectedStretch>& rejected);

/// The electronics' crosstalk at each tone, at most 80 columns.
std::string calibration_text(const Calibration& calibration, bool colour);

/// The solution, answer first, at most 80 columns.
std::string solution_text(const Solution& solution, bool colour);

/// The survey, answer first, at most 80 columns; long tables are cut and say so.
std::string survey_text(const Survey& survey, bool colour);

/// The solution as an HTML page of its own: no script, no network, A4 and narrow screens, light and dark. Its charts are drawn by gnuplot,
/// run as a child process that sees only numbers; where it does not run, the page says so. Throws: Error(kData) where the solution
/// recommends no tilt.
std::string solution_page(const Solution& solution);

/// The survey as a page of the same kind; long tables are cut and say so. Throws: Error(kData) where it holds no cartridge.
std::string survey_page(const Survey& survey);

/// Crosstalk both ways against tilt, drawn in characters, at most 80 columns and 24 lines.
std::string crosstalk_chart_text(const Solution& solution);

}  // namespace evenwall
