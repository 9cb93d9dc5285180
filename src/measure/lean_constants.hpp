// SPDX-License-Identifier: GPL-3.0-or-later
// Constants of the method: how a tone's ratio is separated from clicks and from the record's lean. Each with its unit and reason;
// docs/method.md, "One leak", says more.
#pragma once

#include <array>
#include <cstddef>

#include "evenwall/units.hpp"

namespace evenwall::internal::measure {

// lean fit
inline constexpr int kLeanHarmonics = 8;  // of the turn
// Variance of a mean of Hann frames, four or two to a frame's length, over that of independent ones: 1 + 2·(0.659 + 0.167 + 0.008), 1 +
// 2·0.167.
inline constexpr double kOverlapOfFour = 2.667, kOverlapOfTwo = 1.333;
inline constexpr std::size_t kSpeedBlocks = 100, kMostGrouped = 4;  // rows that find a speed are put together down to this, at most so many
inline constexpr double kLeastBlockWeight = 0.05;                   // of the median
inline constexpr int kLeanPasses = 2;
inline constexpr double kNearlyWhite = 1.3;
inline constexpr double kLeanSeen_deg = 0.01;        // wander from which on its long axis is the lean's direction,
inline constexpr double kLeanSeenNoise = 8.0 * 1.4;  // and how much of its own noise it must be
// Of the lean's size, across its direction: sin 20° where the direction is not seen (phase of the generators), 0.1 and less where it is.
inline constexpr double kLeanAcrossUnseen = 0.35, kLeanAcrossSeen = 0.10, kLeanAcrossLeast = 0.03;
// Size of the first harmonic: log-normal about 0.07° by a factor of e, on this many points. An ordinary record's is 0.02° to 0.2° (a
// judgement).
inline constexpr double kLeanMiddle_deg = 0.07, kLeanLeast_deg = 0.003, kLeanMost_deg = 1.5;
inline constexpr int kLeanSizes = 11;
// A warp's height falls as 1/k², its radial slope brings one k back; bumps and pinch warp fall more slowly (judgements).
inline constexpr double kWarpFall = 1.0, kWarpFallShare = 0.65, kBumpFall = 0.5;
inline constexpr double kGrooveDoubt = 1.4;   // of the groove's variance: its spectrum is no draw of the prior (a judgement)
inline constexpr double kRefinedTurns = 2.2;  // from here on the speed is looked for, by a grid of the lowest harmonics first
inline constexpr double kMostSpeedError = 0.015, kUsualSpeedError = 0.006;
inline constexpr double kUsualGrowth =
    0.03;  // of the lean in a turn: its place on the record moves by the pitch of the groove (a judgement)
inline constexpr int kSpeedTries = 13, kSpeedHarmonics = 3;
inline constexpr double kRefinedLean_deg = 0.1;
inline constexpr std::size_t kBurstSmoothed = 7, kBurstAround = 12;
inline constexpr double kBurstCrackle = 0.6;                 // frames, frames, mean weight: bursts amid clicks only
inline constexpr double kBurstFrom = 5.0, kBurstOver = 8.0;  // of the baseline's own spread: a sine's peak is 1.4
inline constexpr double kBurstLeastSpread = 0.3;             // of the noise

// noise colour
inline constexpr int kExcessSteps = 6;           // of a grid, each way
inline constexpr double kExcessReach = 2.5;      // standard deviations of its logarithm, each way
inline constexpr double kColouredShare = 0.08;   // prior probability that the noise near the tone is louder than around it,
inline constexpr double kUsualColour = 3.0;      // by that much of its variance,
inline constexpr double kColourSpread = 2.0;     // within e to the power of this (judgements)
inline constexpr double kSlowShare = 0.07;       // prior probability of slow changes that do not recur with the turn,
inline constexpr double kSlowChange_deg = 0.01;  // of this standard deviation,
inline constexpr double kSlowFor_s = 1.0;        // hanging together for half of this each way,
inline constexpr double kSlowSpread = 1.4;       // their variance within e to the power of this (judgements)
inline constexpr double kAcrossOfSlow = 0.05;    // of their variance across the lean
inline constexpr double kLeastExcess = 1e-3;
inline constexpr double kScatterBlocks = 40;  // blocks of influence to a passage, or more

// ratio course
inline constexpr double kMedianOverRayleigh = 1.17741;  // median size of complex noise over one part's standard deviation
inline constexpr double kLeastRatioNoise = 1e-12;       // digital captures without noise still have a scale
inline constexpr std::size_t kFastReach = 3;            // frames: what lies 15 to 50 Hz beside the tone
inline constexpr double kCalm = 2.8;                    // of that part's scale
inline constexpr double kCalmSwing = 3.5;               // likewise, of the driven channel's size
inline constexpr double kCalmOff = 3.0;                 // off the median of nine frames
inline const double kLeanBend = radians(0.05);          // within 16 ms: 0.1° of lean at 10 Hz (a judgement)
inline constexpr std::size_t kCalmReach = 2;            // frames each side
inline constexpr std::size_t kCalmMedianReach = 4;
inline constexpr double kCalmWeight = 0.9;
inline constexpr double kHitWeight = 0.25, kNoClicks = 0.001;  // share of the frames below that weight which noise explains
inline constexpr std::size_t kFirstBaselineReach = 13;
inline constexpr std::array<std::size_t, 5> kBaselineReaches{14, 14, 9, 7, 7};  // wide first, while clicks still weigh
inline constexpr std::size_t kNarrowBaseline = 9;
inline constexpr double kWideBaselineLoss = 1.06, kNarrowBaselineLoss = 1.2;  // what following the noise takes from residuals
inline constexpr double kBisquareCut = 6.0;
inline constexpr double kLeastSmoothingWeight = 0.05;
inline constexpr double kCleanWeight = 0.3;
inline constexpr std::size_t kLeastNoiseSizes = 12;

// turning speed
inline constexpr int kWowHarmonics = 2;
inline constexpr double kWowEvidence = 0.5;          // of ln evidence: flutter hangs together from block to block
inline constexpr double kPitchStandsOut = 6.0;       // robust standard deviations
inline constexpr double kLeastPitchNoise_hz = 1e-6;  // digital tones without wow still have a scale
inline constexpr std::size_t kLeastPitches = 8, kEnoughPitches = 100;

}  // namespace evenwall::internal::measure
