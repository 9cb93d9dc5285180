// SPDX-License-Identifier: GPL-3.0-or-later
// The mixed model that an archive can bear.
#pragma once

#include <optional>

#include "numeric/mixed_model.hpp"
#include "survey/archive.hpp"

namespace evenwall::internal::survey {

/// The effects that the archive can tell from the residual; an effect it can't tell is in the one that stays.
struct Bears {
  bool cartridges = true;
  bool records = true;
};

struct Decomposition {
  Bears bears;
  numeric::MixedModel model;
};

/// Fits both effects, or those that can be told apart. `covariate`: empty, or one number for each solution.
/// Nothing where there are fewer than two solutions (three beside a covariate), or the covariate can't be told from what else is fitted.
std::optional<Decomposition> decomposed(const Archive& archive, const std::vector<double>& covariate);

/// Solutions that the others contradict, and the archive without them.
struct Sifted {
  Archive archive;
  std::vector<BadSolution> bad;
};

/// Takes out, largest first, solutions whose left-out residual would arise by chance in one archive of a hundred (Student's t, shared out
/// over all solutions), fitting again after each round; at most one of a cartridge in a round, a fifth of all in the end.
Sifted sifted(Archive archive);

}  // namespace evenwall::internal::survey
