// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/lean_fit.hpp"

#include <cmath>
#include <numbers>

#include "evenwall/units.hpp"
#include "support/catch.hpp"
#include "support/rig.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

constexpr double kHop = 0.00533;
const Complex kRatio(0.031, 0.004);
const double kLeanNoise = radians(0.05);  // standard deviation of one part of one frame's ratio

/// The ratio that a lock-in gives for white noise and a lean of that magnitude. Its harmonics fall as 1/k; `direction` turns it.
RatioCourse leaning(double seconds, double lean_deg, double rpm, Complex direction, rig::Draw& draw) {
  const auto n = static_cast<std::size_t>(seconds / kHop);
  std::vector<Complex> hops(n + 3);
  for (Complex& z : hops) z = {draw.normal(), draw.normal()};
  RatioCourse course{2, kHop, 4, {}, std::vector<double>(n, 0.2), std::vector<Complex>(n, 0.2), std::vector<double>(n, 1.0)};
  std::array<double, 8> phases{};
  for (double& p : phases) p = draw.uniform(0, 2 * std::numbers::pi);
  const double size = std::sqrt(2 * (0.854 * 0.854 + 0.146 * 0.146));
  for (std::size_t f = 0; f < n; ++f) {
    double lean = 0;
    for (int k = 1; k <= 8; ++k) {
      lean += radians(lean_deg) / k *
              std::cos(2 * std::numbers::pi * rpm / 60 * k * course.time_s(f) + phases[static_cast<std::size_t>(k - 1)]);
    }
    const Complex noise = kLeanNoise / size * (0.146 * hops[f] + 0.854 * hops[f + 1] + 0.854 * hops[f + 2] + 0.146 * hops[f + 3]);
    course.ratio.push_back(kRatio + lean * direction + noise);
  }
  return course;
}

double long_axis(const Eigen::Matrix2d& covariance) {
  return std::sqrt(0.5 * covariance.trace() + std::hypot(0.5 * (covariance(0, 0) - covariance(1, 1)), covariance(0, 1)));
}

}  // namespace

TEST_CASE("From one turn on, a lean of eight harmonics hardly enlarges the error, whatever its direction") {
  for (const double degrees_turned : {0.0, 70.0}) {
    rig::Draw draw(11);
    double squares = 0, stated = 0;
    const double bound = kLeanNoise * std::sqrt(2.667 / (3.0 / kHop));  // of a mean of Hann frames at 75 % overlap
    for (int i = 0; i < 60; ++i) {
      const LeanFit fit = fit_lean(leaning(3, 0.2, 100.0 / 3, std::polar(1.0, radians(degrees_turned)), draw), {{100.0 / 3, 1.0}});
      squares += std::norm(fit.value - kRatio) / 60;
      stated += (fit.noise + fit.groove).trace() / 60;
    }
    CAPTURE(degrees_turned, squares, stated, bound * bound);
    CHECK(squares < 2 * bound * bound * 1.5);
    CHECK_THAT(stated / squares, WithinAbs(1, 0.35));
  }
}

TEST_CASE("In half a turn the lean remains uncertain, and its uncertainty is stated as the groove's part") {
  rig::Draw draw(12);
  double squares = 0, stated = 0;
  int groove_heavy = 0;
  for (int i = 0; i < 60; ++i) {
    const LeanFit fit = fit_lean(leaning(1, 0.1, 100.0 / 3, 1.0, draw), {{100.0 / 3, 1.0}});
    squares += std::pow((fit.value - kRatio).real(), 2) / 60;
    stated += (fit.noise + fit.groove)(0, 0) / 60;
    groove_heavy += long_axis(fit.groove) > 2 * long_axis(fit.noise) ? 1 : 0;
  }
  CAPTURE(std::sqrt(squares), std::sqrt(stated));
  CHECK(groove_heavy >= 55);
  CHECK(stated / squares > 0.7);
  CHECK(stated / squares < 3);
}

TEST_CASE("If the speed is not stated, the lean determines it") {
  rig::Draw draw(13);
  for (const double rpm : {100.0 / 3, 45.0, 78.26}) {
    const LeanFit fit = fit_lean(leaning(4, 0.2, rpm, 1.0, draw), possible_speeds(std::nullopt));
    CHECK_THAT(fit.rpm, WithinRel(rpm, 0.006));
    CHECK(std::abs(fit.value - kRatio) < radians(0.01));
  }
}

TEST_CASE("A turntable that is 1 % too fast does not disturb the fit") {
  rig::Draw draw(14);
  const LeanFit fit = fit_lean(leaning(10, 0.2, 1.01 * 100 / 3, 1.0, draw), {{100.0 / 3, 1.0}});
  CHECK_THAT(fit.rpm, WithinRel(1.01 * 100 / 3, 0.001));
  CHECK(std::abs(fit.value - kRatio) < radians(0.006));
}

TEST_CASE("Without noise and lean the ratio is exact") {
  RatioCourse course{0,
                     kHop,
                     4,
                     std::vector<Complex>(500, kRatio),
                     std::vector<double>(500, 0.2),
                     std::vector<Complex>(500, 0.2),
                     std::vector<double>(500, 1.0)};
  const LeanFit fit = fit_lean(course, {{100.0 / 3, 1.0}});
  CHECK(std::abs(fit.value - kRatio) < 1e-12);
  CHECK(fit.rejected_fraction == 0);
  CHECK(long_axis(fit.noise + fit.groove) < 1e-9);
}

TEST_CASE("The once-per-revolution amplitudes are those of cosine and sine, with time counted from the middle") {
  rig::Draw draw(15);
  RatioCourse course = leaning(6, 0, 100.0 / 3, 1.0, draw);
  const double middle_s = course.time_s(0) + 0.5 * kHop * static_cast<double>(course.ratio.size() - 1);
  for (std::size_t f = 0; f < course.ratio.size(); ++f) {
    course.ratio[f] += radians(0.2) * std::cos(2 * std::numbers::pi * (course.time_s(f) - middle_s) / 1.8);
  }
  const LeanFit fit = fit_lean(course, {{100.0 / 3, 1.0}});
  CHECK_THAT(degrees(fit.once_per_revolution[0].real()), WithinAbs(0.2, 0.01));
  CHECK_THAT(degrees(fit.once_per_revolution[1].real()), WithinAbs(0, 0.01));
}
