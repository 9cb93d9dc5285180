// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/ratio_course.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "evenwall/units.hpp"
#include "support/catch.hpp"
#include "support/rig.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

constexpr double kCourseHop_s = 0.00533;

/// A course of n frames with noise of that standard deviation in each part. The frames overlap as those of a lock-in do.
RatioCourse noisy(std::size_t n, double sd, std::uint64_t seed) {
  rig::Draw draw(seed);
  std::vector<Complex> hops(n + 3);
  for (Complex& z : hops) z = {draw.normal(), draw.normal()};
  RatioCourse course{0, kCourseHop_s, 4, {}, std::vector<double>(n, 0.2), std::vector<Complex>(n, 0.2), std::vector<double>(n, 1.0)};
  // Hann's weights of four hops: 0.146, 0.854, 0.854, 0.146.
  const double size = std::sqrt(2 * (0.854 * 0.854 + 0.146 * 0.146));
  for (std::size_t f = 0; f < n; ++f) {
    course.ratio.push_back(sd / size * (0.146 * hops[f] + 0.854 * hops[f + 1] + 0.854 * hops[f + 2] + 0.146 * hops[f + 3]));
  }
  return course;
}

double least(const std::vector<double>& weights, std::size_t from, std::size_t to) {
  return *std::min_element(weights.begin() + static_cast<std::ptrdiff_t>(from), weights.begin() + static_cast<std::ptrdiff_t>(to));
}

}  // namespace

TEST_CASE("Excluded frames are interpolated by a straight line and have no weight") {
  InnerFrames inner;
  for (const double f : {0.0, 1.0, 4.0, 5.0}) {
    inner.middle_s.push_back(2 + kCourseHop_s * f);
    inner.driven.emplace_back(0.2);
    inner.quiet.emplace_back(0.2 * f);
  }
  const RatioCourse course = course_of(inner, kCourseHop_s);
  REQUIRE(course.ratio.size() == 6);
  for (std::size_t f = 0; f < 6; ++f) CHECK(std::abs(course.ratio[f] - static_cast<double>(f)) < 1e-12);
  CHECK(course.heard == std::vector<double>{1, 1, 0, 0, 1, 1});
  CHECK_THAT(course.time_s(5), WithinAbs(2 + 5 * kCourseHop_s, 1e-12));
  CHECK(std::abs(course.driven[2]) == 0);
}

TEST_CASE("Frames with a click lose their weight, and frames with noise keep it") {
  RatioCourse course = noisy(900, 1e-4, 1);
  for (std::size_t f = 400; f < 404; ++f) course.ratio[f] += Complex(0.003, 0.002);
  const std::vector<double> weights = click_weights(course, 1.0);
  CHECK(*std::max_element(weights.begin() + 400, weights.begin() + 404) < 0.1);
  double sum = 0;
  for (const double w : weights) sum += w;
  CHECK(sum / 896 > 0.85);
}

TEST_CASE("A bump of the lean keeps its weight along the lean and loses it across the lean") {
  // The bump has half a degree within a tenth of a turn, which is 34 frames. Its magnitude is 25 times the noise, then 170 times.
  for (const double sd : {3.5e-4, 5e-5}) {
    INFO(sd);
    RatioCourse course = noisy(900, sd, 2);
    for (std::size_t f = 0; f < 34; ++f) {
      course.ratio[400 + f] += radians(0.5) * (0.5 - 0.5 * std::cos(2 * std::numbers::pi * static_cast<double>(f) / 34));
    }
    CHECK(least(click_weights(course, 1.0), 400, 434) > 0.5);
    // Across the lean, a bump of 170 times the noise is fast beside it.
    if (sd < 1e-4) CHECK(least(click_weights(course, Complex(0, 1)), 400, 434) < 0.1);
  }
}

TEST_CASE("The click weights of excluded frames are zero") {
  RatioCourse course = noisy(300, 1e-4, 3);
  std::fill_n(course.heard.begin() + 100, 50, 0.0);
  const std::vector<double> weights = click_weights(course, 1.0);
  CHECK(*std::max_element(weights.begin() + 100, weights.begin() + 150) == 0);
}

TEST_CASE("Slow changes of the ratio do not enlarge the noise estimate of a frame") {
  RatioCourse course = noisy(4000, 1e-4, 4);
  for (std::size_t f = 0; f < 4000; ++f) course.ratio[f] += radians(0.3) * std::cos(2 * std::numbers::pi * course.time_s(f) / 1.8);
  CHECK_THAT(noise_of(course.ratio, std::vector<double>(4000, 1.0), 4), WithinRel(1e-4, 0.05));
}

TEST_CASE("Smoothing keeps a straight line, and where nothing has a weight it returns the given values") {
  std::vector<Complex> line;
  for (int i = 0; i < 20; ++i) line.emplace_back(i, -i);
  const auto same = smoothed(line, std::vector<double>(20, 1.0), 5, line);
  for (std::size_t i = 5; i < 15; ++i) CHECK(std::abs(same[i] - line[i]) < 1e-12);
  const std::vector<Complex> other(20, Complex(7, 7));
  CHECK(smoothed(line, std::vector<double>(20, 0.0), 5, other)[10] == Complex(7, 7));
}
