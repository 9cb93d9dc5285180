// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the constants with which a tone's ratio is separated from clicks and from the record's lean, each with its unit and reason.
// docs/method.md, "Clicks" to "Speed of the record", explains their use.
#pragma once

#include <array>
#include <cstddef>

#include "evenwall/units.hpp"

namespace evenwall::internal::measure {

// lean fit
inline constexpr int kLeanHarmonics = 8;  // harmonics of the turn
// Variance of a mean of overlapping Hann frames divided by that of independent ones, for four or two frames within a frame's length:
// 1 + 2·(0.659 + 0.167 + 0.008) and 1 + 2·0.167.
inline constexpr double kOverlapOfFour = 2.667, kOverlapOfTwo = 1.333;
// Rows that find a speed are joined in groups of at most kMostGrouped, while at least kSpeedBlocks groups remain.
inline constexpr std::size_t kSpeedBlocks = 100, kMostGrouped = 4;
inline constexpr double kLeastBlockWeight = 0.05;  // share of the median weight
inline constexpr int kLeanPasses = 2;
inline constexpr double kNearlyWhite = 1.3;
inline constexpr double kLeanSeen_deg = 0.01;        // smallest wander at which its long axis is taken as the lean's direction,
inline constexpr double kLeanSeenNoise = 8.0 * 1.4;  // and its smallest multiple of its own noise
// Share of the lean's magnitude across its direction: sin 20° if the direction is not seen (phase of the generators), else 0.1 or less.
inline constexpr double kLeanAcrossUnseen = 0.35, kLeanAcrossSeen = 0.10, kLeanAcrossLeast = 0.03;
// Magnitude of the first harmonic: log-normal about 0.07° with a factor of e, on kLeanSizes points. That of an ordinary record is 0.02° to
// 0.2° (a judgement).
inline constexpr double kLeanMiddle_deg = 0.07, kLeanLeast_deg = 0.003, kLeanMost_deg = 1.5;
inline constexpr int kLeanSizes = 11;
// A warp's height falls as 1/k² and its radial slope as 1/k; bumps and pinch warp fall more slowly (judgements).
inline constexpr double kWarpFall = 1.0, kWarpFallShare = 0.65, kBumpFall = 0.5;
inline constexpr double kGrooveDoubt = 1.4;   // factor of the groove's variance: a real spectrum is not drawn from the prior (a judgement)
inline constexpr double kRefinedTurns = 2.2;  // from this length on the speed is refined, first on a grid with the lowest harmonics
inline constexpr double kMostSpeedError = 0.015, kUsualSpeedError = 0.006;
inline constexpr double kUsualGrowth =
    0.03;  // share of the lean per turn, as the place on the record moves by the pitch of the groove (a judgement)
inline constexpr int kSpeedTries = 13, kSpeedHarmonics = 3;
inline constexpr double kRefinedLean_deg = 0.1;
inline constexpr std::size_t kBurstSmoothed = 7, kBurstAround = 12;  // frames on each side
inline constexpr double kBurstCrackle = 0.6;                         // mean weight below which bursts are looked for: only among clicks
inline constexpr double kBurstFrom = 5.0, kBurstOver = 8.0;          // multiples of the baseline's own spread; a sine's peak is at 0.95
inline constexpr double kBurstLeastSpread = 0.3;                     // share of the noise

// noise colour
inline constexpr int kExcessSteps = 6;           // of a grid, in each direction
inline constexpr double kExcessReach = 2.5;      // standard deviations of its logarithm, in each direction
inline constexpr double kColouredShare = 0.08;   // prior probability that the noise near the tone is louder than further away,
inline constexpr double kUsualColour = 3.0;      // by this multiple of its variance,
inline constexpr double kColourSpread = 2.0;     // within a factor of e to the power of this (judgements)
inline constexpr double kSlowShare = 0.07;       // prior probability of slow changes that do not recur with the turn,
inline constexpr double kSlowChange_deg = 0.01;  // of this standard deviation,
inline constexpr double kSlowFor_s = 1.0;        // correlated for half of this in each direction,
inline constexpr double kSlowSpread = 1.4;       // with a variance within a factor of e to the power of this (judgements)
inline constexpr double kAcrossOfSlow = 0.05;    // share of their variance that may appear across the lean
inline constexpr double kLeastExcess = 1e-3;
inline constexpr double kScatterBlocks = 40;  // largest number of blocks of influence in a passage, about

// ratio course
inline constexpr double kMedianOverRayleigh = 1.17741;  // median magnitude of complex noise over one part's standard deviation
inline constexpr double kLeastRatioNoise = 1e-12;       // least scale, for digital captures without noise
inline constexpr std::size_t kFastReach = 3;            // frames: this selects what lies 15 to 50 Hz beside the tone
inline constexpr double kCalm = 2.8;                    // multiple of the scale of that fast part
inline constexpr double kCalmSwing = 3.5;               // the same for the driven channel's magnitude
inline constexpr double kCalmOff = 3.0;                 // multiple of that scale, from the median of nine frames
inline const double kLeanBend = radians(0.05);          // within 16 ms: 0.1° of lean at 10 Hz (a judgement)
inline constexpr std::size_t kCalmReach = 2;            // frames on each side
inline constexpr std::size_t kCalmMedianReach = 4;
inline constexpr double kCalmWeight = 0.9;
inline constexpr double kHitWeight = 0.25, kNoClicks = 0.001;  // share of the frames below that weight that noise alone explains
inline constexpr std::size_t kFirstBaselineReach = 13;
inline constexpr std::array<std::size_t, 5> kBaselineReaches{14, 14, 9, 7, 7};  // the wide ones first, while clicks still have weight
inline constexpr std::size_t kNarrowBaseline = 9;
inline constexpr double kWideBaselineLoss = 1.06, kNarrowBaselineLoss = 1.2;  // corrects residuals: the baseline follows the noise
inline constexpr double kBisquareCut = 6.0;
inline constexpr double kLeastSmoothingWeight = 0.05;
inline constexpr double kCleanWeight = 0.3;
inline constexpr std::size_t kLeastNoiseSizes = 12;

// turning speed
inline constexpr int kWowHarmonics = 2;
inline constexpr double kWowEvidence = 0.5;          // factor of ln evidence, as flutter is correlated from block to block
inline constexpr double kPitchStandsOut = 6.0;       // robust standard deviations
inline constexpr double kLeastPitchNoise_hz = 1e-6;  // least scale, for digital tones without wow
inline constexpr std::size_t kLeastPitches = 8, kEnoughPitches = 100;

}  // namespace evenwall::internal::measure
