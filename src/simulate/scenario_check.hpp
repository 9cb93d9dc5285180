// SPDX-License-Identifier: GPL-3.0-or-later
// Refuses scenarios that no record player could play.
#pragma once

#include "evenwall/simulate.hpp"

namespace evenwall::internal::simulate {

/// Throws: Error(kInput) where a value is out of range or not a number, naming it.
void check(const Scenario& scenario);

}  // namespace evenwall::internal::simulate
