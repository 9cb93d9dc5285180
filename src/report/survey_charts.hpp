// SPDX-License-Identifier: GPL-3.0-or-later
// Makes the charts of a survey's page.
#pragma once

#include <optional>
#include <vector>

#include "report/chart_frame.hpp"

namespace evenwall::internal::report {

// Each function returns nothing if the document holds too little to draw.
std::optional<Chart> cartridge_caterpillar(const Survey& survey);
std::optional<Chart> record_caterpillar(const Survey& survey);
std::optional<Chart> tilt_distribution(const Survey& survey);

/// All charts that can be drawn, in the page's order.
std::vector<Chart> survey_charts(const Survey& survey);

}  // namespace evenwall::internal::report
