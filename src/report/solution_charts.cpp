// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/solution_charts.hpp"

namespace evenwall::internal::report {

std::vector<Chart> solution_charts(const Solution& solution) {
  std::vector<Chart> charts;
  for (const auto& make : {leak_plane_chart, crosstalk_chart, choice_chart, tilt_response_chart, leak_phase_chart, balance_chart,
                           distortion_chart, frequency_crosstalk_chart, frequency_chart}) {
    if (auto chart = make(solution)) charts.push_back(std::move(*chart));
  }
  return charts;
}

}  // namespace evenwall::internal::report
