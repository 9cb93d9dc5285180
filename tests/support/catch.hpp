// SPDX-License-Identifier: GPL-3.0-or-later
// Includes Catch2 2 (Debian 12) or 3 and gives the matchers of both the same names.
#pragma once

#if __has_include(<catch2/catch_all.hpp>)
#include <catch2/catch_all.hpp>
using Catch::Approx;
using Catch::Matchers::ContainsSubstring;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
#else
#include <catch2/catch.hpp>
inline auto ContainsSubstring(const std::string& text) { return Catch::Contains(text); }
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
#endif
