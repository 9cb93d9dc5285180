// SPDX-License-Identifier: GPL-3.0-or-later
#include "simulate/draw.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::simulate;

TEST_CASE("Normal and bell-shaped numbers have mean 0 and variance 1") {
  Draw draw{42};
  double n1 = 0, n2 = 0, b1 = 0, b2 = 0, n4 = 0;
  const int count = 400'000;
  for (int i = 0; i < count; ++i) {
    const double n = draw.normal(), b = draw.bell();
    n1 += n / count, n2 += n * n / count, n4 += n * n * n * n / count;
    b1 += b / count, b2 += b * b / count;
  }
  // Standard errors: mean 1.6e-3, variance 2.2e-3, fourth moment 1.5e-2; 4 of them are allowed.
  CHECK_THAT(n1, WithinAbs(0, 6.4e-3));
  CHECK_THAT(b1, WithinAbs(0, 6.4e-3));
  CHECK_THAT(n2, WithinAbs(1, 9e-3));
  CHECK_THAT(b2, WithinAbs(1, 9e-3));
  CHECK_THAT(n4, WithinAbs(3, 6e-2));
}

TEST_CASE("Random streams differ if any of their keys differs") {
  CHECK(Draw{1, 2}.next() == Draw{1, 2}.next());
  CHECK(Draw{1, 2}.next() != Draw{2, 1}.next());
  CHECK(Draw{1}.next() != Draw{1, 0}.next());
}
