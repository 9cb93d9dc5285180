#include "measure/sample_faults.hpp"

#include <cmath>

#include "support/catch.hpp"
#include "support/rig.hpp"

using evenwall::SampleFaults;

namespace {

SampleFaults heard(double clip_at, double noise, double dc = 0) {
  rig::Draw draw(1);
  SampleFaults faults;
  for (int n = 0; n < 48'000; ++n) {
    const double x = 0.5 * std::sin(0.13 * n) + noise * draw.normal() + dc;
    faults.add(static_cast<float>(std::clamp(x, -clip_at, clip_at)));
  }
  return faults;
}

}  // namespace

TEST_CASE("Flat tops are counted, at full scale or below, and a plain sine has none") {
  CHECK(heard(1.0, 0.001).clipped_fraction() == 0);
  // |sin| > 0.8 for 2·acos(0.8)/π = 41 % of the time; runs of less than three samples do not count.
  CHECK_THAT(heard(0.4, 0.0).clipped_fraction(), WithinAbs(0.41, 0.02));
}

TEST_CASE("Means and samples that are no numbers are counted apart") {
  SampleFaults faults = heard(1.0, 0.0, 0.03);
  CHECK_THAT(faults.mean(), WithinAbs(0.03, 2e-4));  // 48,000 samples end within a period
  faults.add(NAN);
  faults.add(INFINITY);
  CHECK(faults.not_finite() == 2);
  CHECK(faults.samples() == 48'002);
  CHECK_THAT(faults.mean(), WithinAbs(0.03, 2e-4));
}

TEST_CASE("Silence is not clipping") {
  SampleFaults faults;
  for (int n = 0; n < 100; ++n) faults.add(0.0F);
  CHECK(faults.clipped_fraction() == 0);
  CHECK(SampleFaults().mean() == 0);
}
