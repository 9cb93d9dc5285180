// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/chart_frame.hpp"

#include <algorithm>
#include <cmath>

namespace evenwall::internal::report {
namespace {

constexpr double kTiltMargin = 0.06;  // of the span, so that no mark lies on the border
constexpr double kLeastTiltSpan_deg = 1;
constexpr double kFarthestDrawn = 1e30;  // an axis cannot show numbers beyond it
constexpr double kLeastShare = 1e-6;     // of the middle; on a narrower axis two numbers could not be distinguished
constexpr int kMostTiltTicks = 7;        // so that labels of four characters do not touch

}  // namespace

Range range_of(const std::vector<double>& values, double margin, double least) {
  Range range{HUGE_VAL, -HUGE_VAL};
  for (const double value : values) {
    if (!(std::abs(value) < kFarthestDrawn)) continue;
    range.low = std::min(range.low, value);
    range.high = std::max(range.high, value);
  }
  if (range.low > range.high) return {-1, 1};
  const double middle = (range.low + range.high) / 2;
  const double half = std::max({(range.high - range.low) * (0.5 + margin), least / 2, kLeastShare * std::abs(middle)});
  return {middle - half, middle + half};
}

double tick_distance(Range range, int most) {
  const double least = (range.high - range.low) / most;
  const double power = std::pow(10.0, std::floor(std::log10(least)));
  for (const double step : {1.0, 2.0, 5.0}) {
    if (step * power >= least) return step * power;
  }
  return 10 * power;
}

void set_tilt_axis(PlotScript& script, Range tilts_deg) {
  script.command("set xlabel 'azimuth (°)' offset 0,0.4");
  script.command("set xrange [{:.9g}:{:.9g}]", tilts_deg.low, tilts_deg.high);
  script.command("set xtics {:.9g}", tick_distance(tilts_deg, kMostTiltTicks));
}

void begin_chart(PlotScript& script, int height) {
  script.command("set encoding utf8");
  script.command("set terminal svg size 360,{} dynamic enhanced font 'sans-serif,11'", height);
  script.command("set minussign");
  script.command("set border 3 lc rgb '#040000' lw 0.8");
  script.command("set tics nomirror scale 0.4 textcolor rgb 'black'");
  script.command("set grid lc rgb '#050000' lw 0.7 dt 1");
  script.command("set key above left horizontal Left reverse samplen 2.2 width -1 font 'sans-serif,10'");
  script.command("set bars 0.4");
}

Range tilt_range(const Solution& solution) {
  std::vector<double> tilts = solution.recommended.interval95_deg[0] > -1e3 && solution.recommended.interval95_deg[1] < 1e3
                                  ? std::vector<double>{solution.recommended.interval95_deg[0], solution.recommended.interval95_deg[1]}
                                  : std::vector<double>{};
  tilts.push_back(solution.recommended.tilt_deg);
  for (const SolvedStep& step : solution.steps) tilts.push_back(step.tilt_deg);
  return range_of(tilts, kTiltMargin, kLeastTiltSpan_deg);
}

void mark_tilt(PlotScript& script, double tilt_deg, const std::optional<Interval>& interval95_deg) {
  if (!std::isfinite(tilt_deg)) return;
  if (interval95_deg && std::isfinite((*interval95_deg)[0]) && std::isfinite((*interval95_deg)[1])) {
    script.command("set object rectangle from {:.9g}, graph 0 to {:.9g}, graph 1 fc rgb '#030000' fs transparent solid 0.2 noborder behind",
                   (*interval95_deg)[0], (*interval95_deg)[1]);
  }
  script.command("set arrow from {0:.9g}, graph 0 to {0:.9g}, graph 1 nohead lc rgb '#030000' lw 1.2 dt (2,3)", tilt_deg);
}

void mark_answer(PlotScript& script, const Recommended& r) { mark_tilt(script, r.tilt_deg, r.interval95_deg); }

}  // namespace evenwall::internal::report
