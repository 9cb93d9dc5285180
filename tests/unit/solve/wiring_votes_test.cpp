// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/wiring_votes.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

Measurement heard(const std::vector<Driven>& driven, Relation relation = Relation::kInPhase) {
  Measurement m;
  for (const Driven d : driven) {
    Passage p;
    p.driven = d;
    if (d == Driven::kBoth) p.relation = relation;
    m.passages.push_back(p);
  }
  return m;
}

}  // namespace

TEST_CASE("a measurement votes on the order and on the polarity, or not at all") {
  const std::vector<Band> bands{Band::kLeft, Band::kRight, Band::kLateral};
  const auto right = wiring_vote(heard({Driven::kLeft, Driven::kRight, Driven::kBoth}), bands);
  CHECK(right.order == 1);
  CHECK(right.polarity == 1);
  const auto wrong = wiring_vote(heard({Driven::kRight, Driven::kLeft, Driven::kBoth}, Relation::kAntiphase), bands);
  CHECK(wrong.order == -1);
  CHECK(wrong.polarity == -1);
  const auto fewer = wiring_vote(heard({Driven::kLeft}), bands);
  CHECK(fewer.order == 0);
  CHECK(fewer.polarity == 0);
  const auto nothing_stated = wiring_vote(heard({Driven::kLeft, Driven::kRight, Driven::kBoth}), {});
  CHECK(nothing_stated.order == 0);
  CHECK(nothing_stated.polarity == 0);
  const auto vertical = wiring_vote(heard({Driven::kBoth}, Relation::kAntiphase), {Band::kVertical});
  CHECK(vertical.polarity == 1);
}
