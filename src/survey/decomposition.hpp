// SPDX-License-Identifier: GPL-3.0-or-later
// Fits the mixed model with the effects that an archive can determine, and excludes solutions that contradict the others.
#pragma once

#include <optional>

#include "numeric/mixed_model.hpp"
#include "survey/archive.hpp"

namespace evenwall::internal::survey {

/// The effects that the archive can separate from the residual. An effect that it cannot separate is contained in the remaining terms.
struct Bears {
  bool cartridges = true;
  bool records = true;
};

struct Decomposition {
  Bears bears;
  numeric::MixedModel model;
};

/// Fits both effects, or those that can be separated. `covariate`: empty, or one number for each solution. Nothing if there are fewer
/// than two solutions (three with a covariate), or if the covariate cannot be separated from the other terms.
std::optional<Decomposition> decomposed(const Archive& archive, const std::vector<double>& covariate);

/// Solutions that the others contradict, and the archive without them.
struct Sifted {
  Archive archive;
  std::vector<BadSolution> bad;
};

/// Excludes, largest first, solutions with a leave-one-out residual that would arise by chance in one archive of a hundred (Student's t,
/// shared over all solutions), and fits again after each round. A round excludes at most one solution per cartridge; all rounds together
/// exclude at most a fifth of all solutions.
Sifted sifted(Archive archive);

}  // namespace evenwall::internal::survey
