// SPDX-License-Identifier: GPL-3.0-or-later
// Prints the table of base/ranges.hpp as JSON, one row per line, for the scripts that compare the schemas and the program with it.
#include <cstdio>
#include <string>

#include "base/ranges.hpp"

int main() {
  const auto text = [](std::string_view words) { return std::string(words); };
  for (const evenwall::internal::base::Range& row : evenwall::internal::base::all_ranges()) {
    std::printf(
        R"({"family":"%s","key":"%s","low":%.17g,"high":%.17g,"unit":"%s","reason":"%s","whole":%s,"low_excluded":%s,"high_excluded":%s})"
        "\n",
        text(row.family).c_str(), text(row.key).c_str(), row.low, row.high, text(row.unit).c_str(), text(row.reason).c_str(),
        row.whole ? "true" : "false", row.low_excluded ? "true" : "false", row.high_excluded ? "true" : "false");
  }
}
