// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/headline.hpp"

#include "report/turn_words.hpp"

namespace evenwall::internal::report {

void add_headline(Page& page, const Solution& solution, const std::string& answer) {
  if (const auto verified = verified_headline(solution)) {
    const bool failed = solution.verdict->state == VerdictState::kCheck;
    failed ? page.alert(*verified) : page.answer(*verified);
  }
  page.answer(answer);
}

}  // namespace evenwall::internal::report
