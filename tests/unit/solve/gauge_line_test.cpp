// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/gauge_line.hpp"

#include "support/catch.hpp"
#include "support/gauge_example.hpp"

using namespace gauge_example;

namespace {

CaptureOrder order_of(const std::vector<double>& logged, const std::vector<double>& psi_deg = {}, const std::vector<double>& order = {}) {
  std::vector<Observation> observations(logged.size());
  Eigen::VectorXd psi_rad(static_cast<Eigen::Index>(logged.size()));
  for (std::size_t i = 0; i < logged.size(); ++i) {
    observations[i].logged = logged[i];
    observations[i].order = order.empty() ? static_cast<double>(i) : order[i];
    psi_rad[static_cast<Eigen::Index>(i)] = radians(psi_deg.empty() ? logged[i] : psi_deg[i]);
  }
  return {observations, psi_rad};
}

using Indices = std::vector<Eigen::Index>;

}  // namespace

TEST_CASE("A setting is a run of captures with one logged tilt, in the order of capture") {
  const CaptureOrder order = order_of({-2, -2, 0, 2, 0});
  CHECK(order.setting == Indices{0, 0, 1, 2, 3});
  CHECK(order.settings == 4);
  CHECK(order_of({-2, 0, 2}, {}, {3, 1, 2}).observation == Indices{1, 2, 0});
}

TEST_CASE("Captures with one logged tilt are two settings if the signal separates them by degrees") {
  CHECK(order_of({-3, 3, 3}, {-3, 0, 3}).settings == 3);
  CHECK(order_of({-3, 3, 3}, {-3, 3.2, 3}).settings == 2);
}

TEST_CASE("Moves are counted in units of the usual move, and a direction is that of the last move") {
  const CaptureOrder order = order_of({1, 2, 3, 5, 4, 3});
  CHECK(order.move == (Eigen::VectorXd(6) << 1, 1, 1, 2, 1, 1).finished());
  // It is unknown from which side the first setting was reached.
  CHECK(order.direction == (Eigen::VectorXd(6) << 0, 0.5, 0.5, 0.5, -0.5, -0.5).finished());
  CHECK(order.shows_direction());
  CHECK_FALSE(order_of({-2, -1, 0, 1, 2}).shows_direction());
}

TEST_CASE("A drift in time can be separated from tilts that return, and not from tilts that go one way") {
  const auto shows = [](const std::vector<double>& logged) {
    return order_of(logged).shows_time(Eigen::Map<const Eigen::VectorXd>(logged.data(), static_cast<Eigen::Index>(logged.size())));
  };
  CHECK(shows({0, 2, -2, 1, -1}));
  CHECK_FALSE(shows({-2, -1, 0, 1, 2}));
}
