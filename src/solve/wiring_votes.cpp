// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/wiring_votes.hpp"

#include <algorithm>

namespace evenwall::internal::solve {
namespace {

/// Relation expected of each both-channel band, in the record's order.
std::vector<Relation> expected_relations(const std::vector<Band>& bands) {
  std::vector<Relation> expected;
  for (const Band b : bands) {
    if (b == Band::kLateral) expected.push_back(Relation::kInPhase);
    if (b == Band::kVertical) expected.push_back(Relation::kAntiphase);
  }
  return expected;
}

/// Votes of one measurement: +1 agrees with the record's order, −1 contradicts it, 0 is undecided.
int order_vote(const Measurement& measured, const std::vector<Band>& bands) {
  std::vector<Driven> expected;
  for (const Band b : bands) {
    if (b == Band::kLeft) expected.push_back(Driven::kLeft);
    if (b == Band::kRight) expected.push_back(Driven::kRight);
  }
  std::vector<Driven> found;
  for (const Passage& p : measured.passages) {
    if (p.driven != Driven::kBoth) found.push_back(p.driven);
  }
  if (expected.empty() || found.size() != expected.size() || !measured.order_known) return 0;
  const bool same = found == expected;
  const bool opposite = std::equal(found.begin(), found.end(), expected.begin(), [](Driven a, Driven b) { return a != b; });
  return same ? 1 : opposite ? -1 : 0;
}

int polarity_vote(const Measurement& measured, const std::vector<Band>& bands) {
  const auto expected = expected_relations(bands);
  std::vector<Relation> found;
  for (const Passage& p : measured.passages) {
    if (p.relation) found.push_back(*p.relation);
  }
  if (expected.empty() || found.size() != expected.size()) return 0;
  const bool opposite = std::equal(found.begin(), found.end(), expected.begin(), [](Relation a, Relation b) { return a != b; });
  return found == expected ? 1 : opposite ? -1 : 0;
}

std::optional<bool> decided(int votes) { return votes == 0 ? std::nullopt : std::optional<bool>(votes < 0); }

}  // namespace

WiringEvidence wiring_evidence(const Session& session, const Observations& observations) {
  WiringEvidence evidence;
  int order = 0;
  int polarity = 0;
  for (const Observation& o : observations.fitted) {
    const Measurement& measured = *session.steps[o.step].measurement();
    // Swapped leads reverse the order that the capture shows.
    order += order_vote(measured, session.facts.bands) * (o.leads_swapped ? -1 : 1);
    polarity += polarity_vote(measured, session.facts.bands);
    for (const Passage& p : measured.passages) evidence.antiphase_seen |= p.relation == Relation::kAntiphase;
  }
  evidence.channels_swapped = decided(order);
  evidence.polarity_reversed = decided(polarity);
  return evidence;
}

WiringVote wiring_vote(const Measurement& measured, const std::vector<Band>& bands) {
  return {order_vote(measured, bands), polarity_vote(measured, bands)};
}

}  // namespace evenwall::internal::solve
