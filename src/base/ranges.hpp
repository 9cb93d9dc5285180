// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the range of each number in a document, a log or a flag: one table for all readers, for the JSON Schemas and for docs/formats.md.
#pragma once

#include <span>
#include <string>
#include <string_view>

namespace evenwall::internal::base {

/// One row of the table. Both ends belong to the range unless they are excluded.
struct Range {
  std::string_view family;  ///< kind of the document ("reading"), "log", "meter" or "flag"
  std::string_view key;     ///< key, column or flag; "parent/key" if keys of the same name have different ranges
  double low = 0;
  double high = 0;
  std::string_view unit;    ///< as it is written after a number: "°", " Hz"; empty for pure numbers
  std::string_view reason;  ///< why the range ends there
  bool whole = false;
  bool low_excluded = false;
  bool high_excluded = false;
};

/// All rows, sorted by family and key.
std::span<const Range> all_ranges();

/// The row of a key below the parent key, or of the key alone. Requires: a row of that name; a missing row is a programming error.
const Range& range_of(std::string_view family, std::string_view parent, std::string_view key);
inline const Range& range_of(std::string_view family, std::string_view key) { return range_of(family, {}, key); }

/// Whether the value is in the range; false for NaN.
bool in_range(const Range& range, double value);

/// "the limit is 45°" if the ends are −45° and 45°, otherwise "0 to 45° is possible".
std::string limits_text(const Range& range);

/// Text for a message about a number that is out of its range: "1e+09; the limit is 45°".
std::string out_of_range_text(const Range& range, double value);

}  // namespace evenwall::internal::base
