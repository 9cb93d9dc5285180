// SPDX-License-Identifier: GPL-3.0-or-later
// Makes the charts of a solution's page.
#pragma once

#include <optional>
#include <vector>

#include "report/chart_frame.hpp"

namespace evenwall::internal::report {

// Each function returns nothing if the document holds too little to draw.
std::optional<Chart> crosstalk_chart(const Solution& solution);
std::optional<Chart> choice_chart(const Solution& solution);
std::optional<Chart> leak_plane_chart(const Solution& solution);
std::optional<Chart> leak_phase_chart(const Solution& solution);
std::optional<Chart> tilt_response_chart(const Solution& solution);
std::optional<Chart> balance_chart(const Solution& solution);
std::optional<Chart> distortion_chart(const Solution& solution);
std::optional<Chart> frequency_crosstalk_chart(const Solution& solution);
std::optional<Chart> frequency_chart(const Solution& solution);

/// All charts that can be drawn, in the page's order.
std::vector<Chart> solution_charts(const Solution& solution);

}  // namespace evenwall::internal::report
