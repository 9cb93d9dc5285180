// SPDX-License-Identifier: GPL-3.0-or-later
// Makes the table of what each choice of the azimuth gives.
#pragma once

#include <string>

#include "evenwall/model.hpp"
#include "report/page.hpp"
#include "report/plot_script.hpp"

namespace evenwall::internal::report {

/// The name of a choice for people.
FixedWords candidate_words(Candidate name);

/// What each choice of the azimuth gives at the session's frequency and over the band.
TextTable trade_off_table(const Solution& solution);

/// What the columns of that table mean, and what the band shows.
std::string trade_off_sentence(const Solution& solution);

}  // namespace evenwall::internal::report
