// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/geometry.hpp"

#include "numeric/distributions.hpp"
#include "support/catch.hpp"
#include "support/rig.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;
using namespace evenwall::internal::solve;

namespace {

/// Closed forms for small numbers, from docs/method.md, "Criteria".
double closed_form_deg(CriterionKind kind, const ResponseShape& s) {
  const double quadrature_shear = 0.5 * (s.quadrature_left + s.quadrature_right);
  const double eta = 0.5 * (s.quadrature_left - s.quadrature_right);
  if (kind == CriterionKind::kEqual) return degrees(-eta * quadrature_shear / s.shear);
  if (kind == CriterionKind::kPhase) return degrees(eta * s.shear / quadrature_shear);
  return 0;
}

}  // namespace

TEST_CASE("A perfect cartridge has crosstalk of 20·log10(tan) of its tilt, with opposite signs in the two channels") {
  // 20·log10 tan: 1° −35.1616, 2° −29.1383, 5° −21.16096 dB (mpmath).
  for (const auto& [tilt, level_db] : {std::pair{1.0, -35.1616}, {2.0, -29.1383}, {5.0, -21.16096}}) {
    const OwnLeaks leaks = own_leaks(radians(tilt), {});
    CHECK_THAT(decibels(std::abs(leaks.right_into_left)), WithinAbs(level_db, 5e-5));
    CHECK_THAT(decibels(std::abs(leaks.left_into_right)), WithinAbs(level_db, 5e-5));
    CHECK(leaks.right_into_left.real() > 0);
    CHECK(leaks.left_into_right.real() < 0);
  }
}

TEST_CASE("Closed forms of the criteria agree with numeric roots over 1,000 random shapes") {
  for (std::uint64_t seed = 1; seed <= 1000; ++seed) {
    rig::Draw draw(seed);
    const auto size = [&] { return (draw.uniform(0, 1) < 0.5 ? -1 : 1) * draw.uniform(0.002, 0.01); };
    const ResponseShape s{size(), draw.uniform(-0.01, 0.01), size(), size()};
    INFO("seed " << seed);
    for (const auto kind : {CriterionKind::kLeast, CriterionKind::kEqual, CriterionKind::kPhase}) {
      const double closed = closed_form_deg(kind, s);
      if (std::abs(closed) > 1.0) continue;  // the closed forms hold for small tilts only
      const auto root = bracketed_root([&](double t) { return criterion(kind, radians(t), s); }, closed - 1, closed + 1);
      REQUIRE(root);
      // The closed forms lack terms of third order: ψ² and σw against one, up to 4e-4 of the root, and 2e-4 rad·σ: 0.003°.
      CHECK_THAT(*root, WithinAbs(closed, 0.003 + 0.02 * std::abs(closed)));
    }
  }
}

TEST_CASE("Slopes of the criteria and of quotients agree with differences") {
  const ResponseShape s{0.012, 0.004, -0.003, 0.006};
  for (const auto kind : {CriterionKind::kLeast, CriterionKind::kEqual, CriterionKind::kPhase}) {
    const auto slope = criterion_slope(kind, 0.01, s);
    const double h = 1e-4;
    CHECK_THAT(slope[0], WithinAbs((criterion(kind, 0.01 + h, s) - criterion(kind, 0.01 - h, s)) / (2 * h), 1e-6));
    ResponseShape up = s, down = s;
    up.shear += h;
    down.shear -= h;
    CHECK_THAT(slope[1], WithinAbs((criterion(kind, 0.01, up) - criterion(kind, 0.01, down)) / (2 * h), 1e-6));
  }
  const Response r = response_at(0.02, s);
  const auto q = quotient(r.left_from_right, r.right_from_right);
  const Response r2 = response_at(0.02 + 1e-6, s);
  CHECK(std::abs((r2.left_from_right.value / r2.right_from_right.value - q.value) / 1e-6 - q.slope[0]) < 1e-5);
}

TEST_CASE("The slopes of each criterion by tilt and shape equal its differences, even at tilts of several degrees") {
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    rig::Draw draw(seed);
    const auto size = [&] { return 0.05 * draw.normal(); };
    const ResponseShape s{size(), size(), size(), size()};
    const double psi = size();
    for (const auto kind : {CriterionKind::kLeast, CriterionKind::kEqual, CriterionKind::kPhase}) {
      INFO("seed " << seed << ", kind " << static_cast<int>(kind));
      const CriterionAt at = criterion_at(kind, psi, s);
      CHECK(at.value == criterion(kind, psi, s));
      CHECK(at.slope == criterion_slope(kind, psi, s));
      for (int k = 0; k <= kShapeSize; ++k) {
        constexpr double kBy = 1e-5;
        const Nudged up = nudged(psi, s, k, kBy), down = nudged(psi, s, k, -kBy);
        const double difference = (criterion(kind, up.psi_rad, up.shape) - criterion(kind, down.psi_rad, down.shape)) / (2 * kBy);
        CHECK_THAT(at.slope[k], WithinAbs(difference, 1e-9));  // third derivatives of order one times h²/6, and rounding over h
      }
    }
  }
  // The criterion of least crosstalk is a quarter of the derivative of |a|² + |b|².
  const ResponseShape s{0.012, 0.004, -0.003, 0.006};
  const auto sum = [&](double psi) {
    const OwnLeaks leaks = own_leaks(psi, s);
    return std::norm(leaks.right_into_left) + std::norm(leaks.left_into_right);
  };
  CHECK_THAT(criterion(CriterionKind::kLeast, 0.02, s), WithinAbs((sum(0.02 + 1e-5) - sum(0.02 - 1e-5)) / 8e-5, 1e-10));
}
