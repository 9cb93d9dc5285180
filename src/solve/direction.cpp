// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/direction.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "base/recording_name.hpp"
#include "solve/method_constants.hpp"
#include "solve/recordings.hpp"

namespace evenwall::internal::solve {
namespace {

bool states(const std::vector<Band>& bands, std::initializer_list<Band> wanted) {
  return std::any_of(bands.begin(), bands.end(), [&](Band b) { return std::find(wanted.begin(), wanted.end(), b) != wanted.end(); });
}

/// Votes of a recording for the wiring of the recorder: swapped leads at the cartridge reverse the order that it shows.
WiringVote vote_of(const Session& session, std::size_t step) {
  WiringVote vote = wiring_vote(*session.steps[step].measurement(), session.facts.bands);
  if (session.steps[step].log.leads_swapped) vote.order = -vote.order;
  return vote;
}

/// A phase that is far from both 0° and 180° does not show the polarity.
bool phase_is_clear(const Observation& o) {
  return o.interchannel_phase_rad && std::abs(std::cos(*o.interchannel_phase_rad)) > kClearPolarity;
}

/// The reason why a recording does not show the direction; empty if it does.
std::string obscure(const Session& session, const Observation& o, const JointFit& joint) {
  const WiringVote vote = vote_of(session, o.step);
  const std::string name = base::recording_name(session.steps[o.step].log);
  if (vote.order == 0) {
    return fmt::format("the left-only and right-only passages of {} are not as many as `bands` lists, so its channels may be swapped",
                       name);
  }
  if (vote.polarity == 0 || !phase_is_clear(o)) return fmt::format("the both-channel passages of {} do not show its polarity", name);
  const auto holds = [&](const std::vector<std::size_t>& steps) { return std::find(steps.begin(), steps.end(), o.step) != steps.end(); };
  const bool swapped = joint.wiring.channels_swapped.value_or(false) != holds(joint.swapped_steps);
  const bool reversed = joint.wiring.polarity_reversed.value_or(false) != holds(joint.reversed_steps);
  if (swapped != (vote.order < 0) || reversed != (vote.polarity < 0))
    return fmt::format("the crosstalk of {} contradicts the wiring that its bands show", name);
  return "";
}

std::string why_unknown(const Session& session, const JointFit& joint) {
  const std::vector<Band>& bands = session.facts.bands;
  if (!states(bands, {Band::kLeft, Band::kRight}) || !states(bands, {Band::kLateral, Band::kVertical}))
    return "the session does not state the order of the record's `bands` with a both-channel band";
  for (const Observation& o : joint.observations.fitted) {
    if (std::string why = obscure(session, o, joint); !why.empty()) return why;
  }
  return "";
}

}  // namespace

void correct_by_bands(const Session& session, JointFit& joint) {
  auto& fitted = joint.observations.fitted;
  bool order_seen = false, polarity_seen = false;
  for (const Observation& o : fitted) {
    order_seen |= vote_of(session, o.step).order != 0;
    polarity_seen |= vote_of(session, o.step).polarity != 0;
  }
  if (order_seen && !joint.wiring.channels_swapped) joint.wiring.channels_swapped = false;
  if (polarity_seen && !joint.wiring.polarity_reversed) joint.wiring.polarity_reversed = false;
  for (std::size_t row = 0; row < fitted.size(); ++row) {
    const WiringVote vote = vote_of(session, fitted[row].step);
    const StepWiring wiring{row, vote.order != 0 && (vote.order < 0) != joint.wiring.channels_swapped.value_or(false),
                            vote.polarity != 0 && (vote.polarity < 0) != joint.wiring.polarity_reversed.value_or(false)};
    if (!wiring.swapped && !wiring.reversed) continue;
    rewire(wiring, fitted[row]);
    report_wiring(wiring, session, fitted[row].step, joint);
  }
}

void settle_direction(const Session& session, JointFit& joint) {
  const std::string why = why_unknown(session, joint);
  if (why.empty()) return;
  joint.sense = Sense::kUndecided;
  joint.warnings.push_back(
      {WarningCode::kDirectionUnknown,
       fmt::format("the direction of the turn cannot be determined, because {}. The result states the angle, and names no side. List the "
                   "record's `bands` in session.json, with a lateral band, and record all of them.",
                   why)});
}

}  // namespace evenwall::internal::solve
