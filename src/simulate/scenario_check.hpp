// SPDX-License-Identifier: GPL-3.0-or-later
// Rejects scenarios with impossible values.
#pragma once

#include "evenwall/simulate.hpp"

namespace evenwall::internal::simulate {

/// Throws: Error(kInput) if a value is out of range or not a number; the message names the value.
void check(const Scenario& scenario);

}  // namespace evenwall::internal::simulate
