// Readings at several tilts -> Solution.
#pragma once

#include "evenwall/model.hpp"

namespace evenwall {

/// Fits all usable steps of a session together and says at which tilt the cartridge serves both groove walls alike.
///
/// Steps may come in any order: the result is the same bit for bit. Steps whose reading has an error, lacks a side at the chosen
/// frequency or has no tilt are left out and named in `warnings`.
/// Throws: Error(kData) where no step is left.
/// Source: docs/method.md.
Solution solve(const Session& session, const SolveOptions& options);

}  // namespace evenwall
