// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/page_style.hpp"

#include "support/catch.hpp"
#include "support/holds.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

TEST_CASE("The style sheet has rules for print and for dark screens, and loads nothing") {
  const std::string style = kPageStyle;
  CHECK(holds(style, "@media print"));
  CHECK(holds(style, "prefers-color-scheme"));
  CHECK(holds(style, "A4"));
  CHECK_FALSE(holds(style, "url("));
  CHECK_FALSE(holds(style, "@import"));
  CHECK_FALSE(holds(style, "</style"));
}
