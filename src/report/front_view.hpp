// SPDX-License-Identifier: GPL-3.0-or-later
// Draws the cartridge from the front and the direction in which to turn it.
#pragma once

#include <string>

#include "evenwall/model.hpp"

namespace evenwall::internal::report {

/// An inline SVG: the cartridge's outline before and after, an arrow, and the shim at its screw. Not to scale, because a rotation of one
/// degree could not be seen. Empty if no side can be named or the cartridge need not be turned.
std::string front_view(const Shim& shim);

}  // namespace evenwall::internal::report
