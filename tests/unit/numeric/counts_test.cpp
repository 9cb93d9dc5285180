// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/counts.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;

TEST_CASE("Counts from lengths are never 0, whatever the length") {
  // Rows lie 0.25 s apart, as those of a tone of 151 s do. 0.125 s then hold half a row, and a loop over blocks of 0 rows would never end.
  CHECK(at_least_one(0.125 / 0.2505) == 1);
  CHECK(at_least_one(0) == 1);
  CHECK(at_least_one(-3) == 1);
  CHECK(at_least_one(2.4) == 2);
  CHECK(at_least_one(2.6) == 3);
  CHECK((stride_for(0, 600) == 1 && stride_for(599, 600) == 1 && stride_for(1200, 600) == 2));
}

TEST_CASE("A block has at least one row, and longer blocks leave at least six blocks more than terms") {
  for (const std::size_t rows : {0U, 1U, 24U, 600U, 1500U, 28200U, 1000000U}) {
    for (const double wanted : {0.0, 0.49, 0.5, 1.0, 23.45, 1e6}) {
      const std::size_t block = rows_per_block(rows, wanted, 5);
      CAPTURE(rows, wanted, block);
      CHECK(block >= 1);
      CHECK((block == 1 || rows / block >= 11));
    }
  }
  CHECK(rows_per_block(1500, 23.45, 5) == 23);
}
