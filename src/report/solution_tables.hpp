// The tables of a solution's page, in reading order after the answer.
#pragma once

#include "evenwall/model.hpp"
#include "report/page.hpp"

namespace evenwall {

/// Crosstalk before and after, and how the verification came out.
void add_expectation(Page& page, const Solution& solution);
/// The three criteria, the balance and what no tilt can mend.
void add_criteria(Page& page, const Solution& solution);
void add_frequencies(Page& page, const Solution& solution);
void add_steps(Page& page, const Solution& solution);
void add_uncertainty(Page& page, const Solution& solution);

}  // namespace evenwall
