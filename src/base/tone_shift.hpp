// SPDX-License-Identifier: GPL-3.0-or-later
// Names the cause if a tone is heard at a wrong frequency.
#pragma once

#include <string_view>

namespace evenwall::internal::base {

/// The likely cause if a tone's frequency is wrong by this factor, as a clause after "if". Matches within 3 %, which covers errors of
/// speed. Empty if no known cause fits.
std::string_view cause_of_shift(double factor);

}  // namespace evenwall::internal::base
