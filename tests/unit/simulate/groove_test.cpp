// SPDX-License-Identifier: GPL-3.0-or-later
#include "simulate/groove.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::simulate;

TEST_CASE("Bands follow each other and turn with the record") {
  SimulatedRecord record;
  record.bands = {{std::nullopt, 1000, 2, -12, 0.05}, {Band::kLeft, 1000, 5, -12, 0.05}, {Band::kRight, 1000, 5, -12, 0.05}};
  const Groove groove = groove_of(record, 3);
  CHECK(groove.bands[2].start_s == 7);
  CHECK(groove.duration_s == 12);
  const double full_turn = record_angle_rad(groove.bands[1], record, 1.8) - record_angle_rad(groove.bands[1], record, 0);
  CHECK_THAT(full_turn, WithinAbs(2 * 3.14159265358979, 1e-12));  // 33⅓ rpm is 1.8 s per turn
  CHECK(groove_of(record, 3).warp_phase_rad == groove.warp_phase_rad);
  CHECK(groove_of(record, 4).warp_phase_rad != groove.warp_phase_rad);
}

TEST_CASE("Fades are raised cosines") {
  const SimulatedBand band{Band::kLeft, 1000, 2, -12, 0.1};
  CHECK(fade_at(band, 0) == 0);
  CHECK_THAT(fade_at(band, 0.05), WithinAbs(0.5, 1e-12));
  CHECK(fade_at(band, 1) == 1);
  CHECK_THAT(fade_at(band, 1.95), WithinAbs(0.5, 1e-12));
}
