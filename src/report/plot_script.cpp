// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/plot_script.hpp"

#include <cmath>

namespace evenwall::internal::report {

void PlotScript::add_row(const DataRow& row) {
  const char* gap = "";
  for (const double value : row) {
    text_ += std::isfinite(value) ? fmt::format("{}{:.9g}", gap, value) : fmt::format("{}NaN", gap);
    gap = " ";
  }
  text_ += "\n";
}

}  // namespace evenwall::internal::report
