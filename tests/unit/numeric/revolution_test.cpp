#include "numeric/revolution.hpp"

#include "support/catch.hpp"

using namespace evenwall;

TEST_CASE("Terms a passage can carry, and what they leave") {
  CHECK(revolution_harmonics(0.9) == 0);
  CHECK(revolution_harmonics(1.5) == 1);
  CHECK(revolution_harmonics(2.5) == 2);
  // 5.4 s at 33⅓: three revolutions, 43 blocks less five terms.
  CHECK(leak_degrees_of_freedom(5.4, 100.0 / 3) == 38);
  CHECK(leak_degrees_of_freedom(0.3, 100.0 / 3) == 6);
}
