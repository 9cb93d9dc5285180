// SPDX-License-Identifier: GPL-3.0-or-later
// Finds what the bands of the recordings show about the wiring, against the order of the bands on the record.
#pragma once

#include "solve/observations.hpp"

namespace evenwall::internal::solve {

/// What the both-channel passages and the order of the bands show about the wiring, over all fitted steps.
struct WiringEvidence {
  std::optional<bool> channels_swapped;
  std::optional<bool> polarity_reversed;
  bool antiphase_seen = false;
};
WiringEvidence wiring_evidence(const Session& session, const Observations& observations);

/// What one measurement shows, against the stated bands: 1 agrees with them, −1 contradicts them, 0 is undecided.
struct WiringVote {
  int order = 0;     ///< of the left-only and the right-only bands, channels as recorded
  int polarity = 0;  ///< of the both-channel bands
};
WiringVote wiring_vote(const Measurement& measured, const std::vector<Band>& bands);

}  // namespace evenwall::internal::solve
