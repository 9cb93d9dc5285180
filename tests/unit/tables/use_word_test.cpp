// SPDX-License-Identifier: GPL-3.0-or-later
#include "tables/use_word.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::tables;

TEST_CASE("a use is read as users write it") {
  for (const char* yes : {"yes", "Yes", "YES", " yes "}) CHECK(use_named(yes) == StepUse::kYes);
  for (const char* no : {"no", "NO"}) CHECK(use_named(no) == StepUse::kNo);
  for (const char* verify : {"verify", "Verify\t"}) CHECK(use_named(verify) == StepUse::kVerify);
  for (const char* found : {"as_found", "as found", "As-found", "AS  FOUND", "as - found"}) CHECK(use_named(found) == StepUse::kAsFound);
}

TEST_CASE("other texts are no use") {
  for (const char* wrong : {"", " ", "y", "maybe", "asfound", "verified", "yes no", "_yes", "no-"}) CHECK_FALSE(use_named(wrong));
}
