// SPDX-License-Identifier: GPL-3.0-or-later
// Who made a document.
#pragma once

namespace evenwall::internal::base {

inline constexpr const char* kProgram = "evenwall";
inline constexpr const char* kVersion = "0.1.0";
/// Raised when a frozen result of tests/conformance moves; docs/changelog.md says why.
inline constexpr int kMethodVersion = 3;

}  // namespace evenwall::internal::base
