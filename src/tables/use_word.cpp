// SPDX-License-Identifier: GPL-3.0-or-later
#include "tables/use_word.hpp"

#include <string>

#include "evenwall/words.hpp"
#include "tables/number_text.hpp"

namespace evenwall::internal::tables {

std::optional<StepUse> use_named(std::string_view text) {
  std::string word;
  bool between = false;
  for (const char c : column_name(text)) {  // without blanks around it, in lower case
    const bool joins = c == ' ' || c == '\t' || c == '-' || c == '_';
    if (!joins) word += c;
    if (joins && !between) word += '_';
    between = joins;
  }
  return enum_named<StepUse>(word);
}

}  // namespace evenwall::internal::tables
