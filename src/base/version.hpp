// SPDX-License-Identifier: GPL-3.0-or-later
// Names the program, its version and its method's version, for the documents that it writes.
#pragma once

namespace evenwall::internal::base {

inline constexpr const char* kProgram = "evenwall";
inline constexpr const char* kVersion = "0.1.0";
/// Raised when a frozen result of tests/conformance changes; docs/changelog.md gives the reason.
inline constexpr int kMethodVersion = 3;

}  // namespace evenwall::internal::base
