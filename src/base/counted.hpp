// SPDX-License-Identifier: GPL-3.0-or-later
// Writes a count with the words that it counts.
#pragma once

#include <concepts>
#include <string>
#include <string_view>

namespace evenwall::internal::base {

/// The count before the words of its form: "1 step is flagged", "2 steps are flagged".
inline std::string counted(std::integral auto count, std::string_view one, std::string_view many) {
  return std::to_string(count) + " " + std::string(count == 1 ? one : many);
}

/// The same for a word whose plural ends in s: "1 recording", "2 recordings".
inline std::string counted(std::integral auto count, std::string_view one) { return counted(count, one, std::string(one) + "s"); }

}  // namespace evenwall::internal::base
