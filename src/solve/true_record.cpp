// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/true_record.hpp"

#include <fmt/format.h>

#include <cmath>

namespace evenwall::internal::solve {
namespace {

void move(Interval& interval, double by) {
  for (double& bound : interval) bound += by;
}

void move(Criterion& criterion, double by) {
  if (criterion.tilt_deg) *criterion.tilt_deg += by;
  if (criterion.interval95_deg) move(*criterion.interval95_deg, by);
}

}  // namespace

void take_out_cut_error(const RecordCorrection& correction, Solution& solution) {
  const double by = -correction.cut_error_deg;
  Recommended& r = solution.recommended;
  r.tilt_deg += by;
  move(r.interval95_deg, by);
  if (std::abs(solution.tilt_response.degrees_per_unit) > 0) {
    const double units = by / solution.tilt_response.degrees_per_unit;
    if (r.tilt_units) *r.tilt_units += units;
    if (r.interval95_units) move(*r.interval95_units, units);
  }
  r.why += fmt::format(". The cutting-azimuth error of {}, {:+.3f}°, is subtracted", correction.record, correction.cut_error_deg);
  move(solution.equal_crosstalk, by);
  move(solution.phase_match, by);
  solution.least_crosstalk.tilt_deg += by;
  move(solution.least_crosstalk.interval95_deg, by);
  for (FrequencyResult& f : solution.by_frequency) {
    if (f.equal_crosstalk_deg) *f.equal_crosstalk_deg += by;
    f.least_crosstalk_deg += by;
  }
  for (double& tilt : solution.curves.tilt_deg) tilt += by;
  if (!solution.band) return;
  for (BandCriterion* c : {&solution.band->least, &solution.band->equal}) {
    if (c->tilt_deg) *c->tilt_deg += by;
    if (c->interval95_deg) move(*c->interval95_deg, by);
  }
}

}  // namespace evenwall::internal::solve
