// SPDX-License-Identifier: GPL-3.0-or-later
// Builds the script for gnuplot. The types admit only numbers and words that are fixed in this program.
#pragma once

#include <fmt/format.h>

#include <string>
#include <type_traits>
#include <vector>

namespace evenwall::internal::report {

using DataRow = std::vector<double>;

/// Words fixed in this program. They are made at compile time, so a text of a document cannot become one.
struct FixedWords {
  consteval FixedWords(const char* words) : text(words) {}  // NOLINT: implicit, so that a literal can be passed
  const char* text;
};

}  // namespace evenwall::internal::report

template <>
struct fmt::formatter<evenwall::internal::report::FixedWords> : fmt::formatter<const char*> {
  template <typename Context>
  auto format(evenwall::internal::report::FixedWords words, Context& context) const {
    return fmt::formatter<const char*>::format(words.text, context);
  }
};

namespace evenwall::internal::report {

class PlotScript {
 public:
  /// Adds one line. Every argument must be a number or fixed words, because a text of the document could act as a command.
  template <typename... Arguments>
  void command(fmt::format_string<Arguments...> words, Arguments... arguments) {
    static_assert(((std::is_arithmetic_v<Arguments> || std::is_same_v<Arguments, FixedWords>)&&...),
                  "only numbers and fixed words reach the plotting engine");
    text_ += fmt::vformat(words, fmt::make_format_args(arguments...)) + "\n";
  }

  /// Adds a data block $NAME. gnuplot does not draw values that are not finite. Requires: at least one row, if the block is plotted.
  template <std::size_t kSize>
  void data(const char (&name)[kSize], const std::vector<DataRow>& rows) {
    text_ += fmt::format("${} << END_OF_DATA\n", name);
    for (const DataRow& row : rows) add_row(row);
    text_ += "END_OF_DATA\n";
  }

  [[nodiscard]] const std::string& text() const { return text_; }

 private:
  void add_row(const DataRow& row);

  std::string text_;
};

}  // namespace evenwall::internal::report
