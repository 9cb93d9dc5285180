// SPDX-License-Identifier: GPL-3.0-or-later
// The cartridge from the front, and which way to turn it.
#pragma once

#include <string>

#include "evenwall/model.hpp"

namespace evenwall::internal::report {

/// An inline SVG: the cartridge's outline before and after, an arrow, the shim at its screw. Not to scale: no eye sees a degree.
/// Empty where no side can be named or nothing is to be turned.
std::string front_view(const Shim& shim);

}  // namespace evenwall::internal::report
