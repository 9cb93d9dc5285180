// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/progress.hpp"

#include "support/catch.hpp"

using namespace evenwall::internal::app;

TEST_CASE("The bar shows the parts that are done, and the time left follows from the time that they took") {
  CHECK(progress_text("captures", 0, 30, 0) == "[------------------------] 0 of 30 captures");
  CHECK(progress_text("captures", 15, 30, 0.5) == "[############------------] 15 of 30 captures");
  // 10 parts took 10 s; 20 parts remain.
  CHECK(progress_text("captures", 10, 30, 10) == "[########----------------] 10 of 30 captures, 20 s left");
  CHECK(progress_text("captures", 30, 30, 10) == "[########################] 30 of 30 captures");
  CHECK(progress_text("files", 0, 0, 10) == "[########################] 0 of 0 files");
}

TEST_CASE("The time left is rounded") {
  CHECK(duration_text(0.1) == "1 s");
  CHECK(duration_text(7.4) == "7 s");
  CHECK(duration_text(43) == "45 s");
  CHECK(duration_text(190) == "3 min");
  CHECK(duration_text(7800) == "2 h 10 min");
}

TEST_CASE("The longest line of progress fits a terminal of 80 columns") {
  CHECK(progress_text("captures", 12345678, 99999999, 1e7).size() < 80);
}
