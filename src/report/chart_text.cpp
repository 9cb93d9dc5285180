// SPDX-License-Identifier: GPL-3.0-or-later
// Draws the crosstalk curves of a solution as a text chart.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "evenwall/report.hpp"
#include "report/number_format.hpp"
#include "report/page.hpp"

namespace evenwall::internal::report {
namespace {

constexpr std::size_t kRows = 18;     // with head, axis and labels the chart has fewer than 24 lines
constexpr std::size_t kColumns = 68;  // of the plot itself; the labels use the rest of 80 columns
constexpr double kTextLeastSpan_db = 6.0;
constexpr char kRightIntoLeft = 'o';
constexpr char kLeftIntoRight = 'x';
constexpr char kBothCurves = '*';
constexpr char kRecommended = ':';

struct Axes {
  double low_deg, high_deg, low_db, high_db;

  [[nodiscard]] std::size_t column(double tilt_deg) const {
    const double share = (tilt_deg - low_deg) / (high_deg - low_deg);
    return static_cast<std::size_t>(std::lround(std::clamp(share, 0.0, 1.0) * (kColumns - 1)));
  }
  [[nodiscard]] std::size_t row(double level_db) const {
    const double share = (high_db - level_db) / (high_db - low_db);
    return static_cast<std::size_t>(std::lround(std::clamp(share, 0.0, 1.0) * (kRows - 1)));
  }
};

Axes axes_of(const Curves& curves) {
  const auto [low_tilt, high_tilt] = std::minmax_element(curves.tilt_deg.begin(), curves.tilt_deg.end());
  double low = HUGE_VAL;
  double high = -HUGE_VAL;
  for (const auto* levels : {&curves.right_into_left_db, &curves.left_into_right_db}) {
    for (const double level : *levels) {
      if (!std::isfinite(level)) continue;
      low = std::min(low, level);
      high = std::max(high, level);
    }
  }
  return {*low_tilt, *high_tilt, std::min(std::floor(low), high - kTextLeastSpan_db), std::ceil(high)};
}

using Canvas = std::vector<std::string>;

void mark(Canvas& canvas, std::size_t row, std::size_t column, char ink) {
  char& cell = canvas[row][column];
  const bool other_curve = (cell == kRightIntoLeft && ink == kLeftIntoRight) || (cell == kLeftIntoRight && ink == kRightIntoLeft);
  cell = other_curve ? kBothCurves : ink;
}

void draw(Canvas& canvas, const Axes& axes, const std::vector<double>& tilt_deg, const std::vector<double>& level_db, char ink) {
  for (std::size_t i = 0; i < tilt_deg.size(); ++i) {
    if (std::isfinite(level_db[i])) mark(canvas, axes.row(level_db[i]), axes.column(tilt_deg[i]), ink);
  }
}

bool has_finite_curves(const Curves& c) {
  const auto finite = [](double value) { return std::isfinite(value); };
  return c.tilt_deg.size() > 1 && c.right_into_left_db.size() == c.tilt_deg.size() && c.left_into_right_db.size() == c.tilt_deg.size() &&
         c.tilt_deg.front() != c.tilt_deg.back() && std::all_of(c.tilt_deg.begin(), c.tilt_deg.end(), finite) &&
         std::any_of(c.right_into_left_db.begin(), c.right_into_left_db.end(), finite);
}

}  // namespace
}  // namespace evenwall::internal::report

namespace evenwall {

std::string crosstalk_chart_text(const Solution& solution) {
  using namespace internal::report;
  if (!has_finite_curves(solution.curves)) return "No chart is drawn: the solution contains no curves.\n";
  const Axes axes = axes_of(solution.curves);
  Canvas canvas(kRows, std::string(kColumns, ' '));
  const double tilt_deg = solution.recommended.tilt_deg;
  if (tilt_deg >= axes.low_deg && tilt_deg <= axes.high_deg) {
    for (std::string& line : canvas) line[axes.column(tilt_deg)] = kRecommended;
  }
  draw(canvas, axes, solution.curves.tilt_deg, solution.curves.right_into_left_db, kRightIntoLeft);
  draw(canvas, axes, solution.curves.tilt_deg, solution.curves.left_into_right_db, kLeftIntoRight);
  std::string text = fmt::format("Crosstalk in dB against azimuth: {} right into left, {} left into right, {} answer\n", kRightIntoLeft,
                                 kLeftIntoRight, kRecommended);
  for (std::size_t r = 0; r < kRows; ++r) {
    const double level = axes.high_db - (axes.high_db - axes.low_db) * static_cast<double>(r) / (kRows - 1);
    const bool labelled = r % 4 == 0 || r + 1 == kRows;
    std::string line = (labelled ? fmt::format("{:7.1f} |", level) : std::string(8, ' ') + "|") + canvas[r];
    text += line.erase(line.find_last_not_of(' ') + 1) + "\n";
  }
  text += std::string(8, ' ') + "+" + std::string(kColumns, '-') + "\n";
  const std::string low = degrees_text(axes.low_deg, 2);
  const std::string high = degrees_text(axes.high_deg, 2);
  const std::size_t between = kColumns - display_columns(low) - display_columns(high);
  return text + std::string(9, ' ') + low + std::string(between, ' ') + high + "\n";
}

}  // namespace evenwall
