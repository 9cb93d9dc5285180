// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/text.hpp"

#include "support/catch.hpp"

using evenwall::internal::base::escaped;

TEST_CASE("Plain text and UTF-8 are unchanged, and bytes that act on a terminal are written as visible codes") {
  CHECK(escaped("Kühn 33⅓ ✓") == "Kühn 33⅓ ✓");
  CHECK(escaped("\x1b[31mred") == "\\x1B[31mred");
  CHECK(escaped("a\nb\r") == "a\\x0Ab\\x0D");
  CHECK(escaped("\xe2\x80\xae"
                "evil") == "\\u{202E}evil");  // right-to-left override
  CHECK(escaped("\xff\xfe") == "\\xFF\\xFE");
  CHECK(escaped("\xc0\xaf") == "\\xC0\\xAF");           // overlong
  CHECK(escaped("\xed\xa0\x80") == "\\xED\\xA0\\x80");  // surrogate
  CHECK(escaped("cut \xe2\x82") == "cut \\xE2\\x82");
}
