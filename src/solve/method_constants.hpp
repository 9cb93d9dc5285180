// SPDX-License-Identifier: GPL-3.0-or-later
// Constants of the method: how a session is fitted and what is reported. Each with its unit and reason; docs/method.md says more.
#pragma once

#include <cmath>
#include <cstddef>
#include <cstdint>

#include "evenwall/units.hpp"

namespace evenwall::internal::solve {

// advice
// How far a stylus may lean before a contact edge leaves its wall, by the major radius of its tip: common practice, no source.
inline constexpr double kLargeRadius_um = 100.0;
inline constexpr double kLargeRadiusLimit_deg = 1.8;
inline constexpr double kSmallRadiusLimit_deg = 2.5;
inline constexpr double kHoleSpacing_mm = 12.7;   // half an inch between the mounting screws
inline constexpr double kWorthwhile = 0.9;        // an uncertainty must fall below this share for one more capture to be advised
inline constexpr double kGoodEnough_deg = 0.005;  // no hand sets closer
inline constexpr double kBeyond_deg = 0.05;       // beyond the captured tilts by more than this, the answer is extrapolated
inline constexpr double kAdviceReach_deg = 1.0;   // past the captured tilts
inline constexpr int kAdviceCandidates = 17;
inline constexpr std::size_t kAdviceMostSteps = 40;  // with more there is nothing to advise

// audit
inline constexpr double kNamedWrong = 0.9;
inline constexpr double kPossiblyWrong = 0.5;
inline constexpr std::size_t kNamedFrom = 4;     // steps: of three that contradict each other any one may be wrong
inline constexpr double kContradiction = 0.001;  // p-value of three steps' scatter about a stated gauge
inline constexpr double kLeastMagnitude = 1e-6;

// criteria
inline constexpr double kSignificance = 5.0;       // |σ| over its uncertainty: its sign is then wrong in 3 of 10⁷
inline constexpr double kWidestOffset_deg = 0.25;  // 95 % half-width of the criterion's distance from least crosstalk
inline constexpr double kPhaseMargin = 1.5;        // |σ|² over |ρ|²: beyond it the leaks are in phase rather than in antiphase

// curves
inline constexpr int kCurvePoints = 81;
inline constexpr double kCurveMargin_deg = 0.5;
inline constexpr double kCurveStep_rad = 1e-6;

// gauge model
inline constexpr double kLeastWeightLeft = 1e-3;          // of a row's own weight: below it 1 − share has lost three digits
inline constexpr double kLeastMisfit = 1e-4;              // of the misfit: below it the difference has lost four
inline constexpr double kSameSetting_rad = radians(0.5);  // no stylus comes down further from where it was, if the gauge was not touched
inline constexpr double kLeastOwn_rad2 = 1e-24;           // of a tilt, beside what is shared: keeps a factor positive, moves no digit
inline constexpr double kLeastRange = 1e-9;               // of the settings, over their size: below it there is no line to subtract

// gauge problem
inline constexpr double kLeastScale_u = 1e-7;  // a scale stated as exact
inline constexpr double kLeastGauge_rad = radians(1e-5);
inline constexpr double kGaugeGridLow_deg = 0.002;  // gauges better than this can't be told from perfect ones
inline constexpr double kGaugeGridHigh_deg = 0.8;
inline constexpr int kGaugeGridPoints = 25;
inline constexpr double kMostGauge_rad = radians(60.0);
inline constexpr double kOverspread = 0.05;               // of the misfit to be expected, where a spread is too large by far
inline constexpr double kUsualGauge_rad = radians(0.2);   // gauges worse than this are rare: half weight there (a judgement)
inline constexpr double kProbabilityWrong = 0.02;         // of a step being logged wrong, before anything is seen (a judgement)
inline constexpr double kWrongSpread_rad = radians(0.6);  // of a wrong log entry (a judgement)
inline constexpr double kDropped_rad = radians(30.0);     // spread that takes a step out of the log
inline constexpr std::ptrdiff_t kTwoWrongFrom = 6;        // settings: of fewer, four that agree are no majority
inline constexpr std::size_t kTwoWrongAmong = 6;          // of the likeliest: pairs of others are less likely still
inline constexpr double kLeastAccount = 1e-7;             // of the likeliest account's weight: less changes no digit of the interval
// How well a capture comes back although the gauge was not touched (judgements): perfectly, or flat in its logarithm.
inline constexpr double kNoLowering = 0.3;
inline constexpr double kLoweringLow_deg = 0.001;
inline constexpr double kLoweringHigh_deg = 0.3;
inline constexpr int kLoweringPoints = 9;
inline constexpr double kResetEachTime = 0.2;  // that repeats of one tilt were each set anew (a judgement)
// A cartridge that is rolled about an axis at 15° to 25° to the groove turns by the cosine of what is logged (judgements).
inline constexpr double kOffsetAxis = 0.04;
inline constexpr double kOffsetAxisScale = 0.95;
inline constexpr double kOffsetAxisScale_u = 0.05;
// Three settings logged in halves or quarters of a degree: that they were rounded, and how well the spread of rounding is known.
inline constexpr double kRoundedPrior = 0.5;
inline constexpr double kRoundedSpread = 0.25;

// gauge structures
inline constexpr double kTimeApart = 0.4;                     // of the captures' time, that the tilts do not run with
inline constexpr double kBacklashSpread_rad = radians(0.15);  // sizes that are usual (judgements)
inline constexpr double kDriftSpread_rad = radians(0.1);
inline constexpr double kWalkLow_deg = 0.01;  // root mean square over the captures
inline constexpr double kWalkHigh_deg = 0.4;
inline constexpr int kWalkPoints = 8;
inline constexpr std::size_t kCoarseGrid = 3;              // of many settings the spread is known better than the grid is fine
inline constexpr std::ptrdiff_t kStructuresNameUpTo = 30;  // settings: of more, a wrong one is named among independent ones only
inline constexpr std::ptrdiff_t kExchangedFrom = 4;
inline constexpr double kExchangedPrior = 0.01;      // of two rows exchanged, before anything is seen (a judgement)
inline constexpr double kExchangeStraightens = 0.5;  // of the log's straying: a pair that leaves more is not asked
inline constexpr double kStrayingMean = 0.2;

// joint fit
inline constexpr double kDefaultCutLevel_u_db = 0.3;  // how alike two bands of one record are cut (a judgement)
inline constexpr double kDefaultScale_u = 0.02;       // of a gauge's degree (a judgement)
inline constexpr double kLogOddsSure = 6.0;           // 400 to 1 against the log's own sense before it is doubted
inline constexpr double kScaleOff = 3.0;              // combined uncertainties
inline constexpr double kCutMismatchOff = 3.0;
inline constexpr std::size_t kLeastSettingsOfSizes = 3;
inline constexpr double kSizesMisfit = 0.01;         // p-value, as in the fit of sizes
inline constexpr double kUninformedCut_neper = 5.0;  // levels with this uncertainty say nothing

// magnitude fit
inline constexpr int kSizesFirstLook = 40;           // iterations
inline constexpr std::size_t kSizesStartSteps = 60;  // a hand's session has fewer
inline constexpr double kWideQuadrature = 0.02;      // a leak that stays well off zero: the logarithm has no pole near the way
inline constexpr double kLeastBendSpread_rad = 0.02;
inline constexpr double kSizesLeastGauge_rad = radians(1e-4);
inline constexpr std::size_t kSizesNamedFrom = 5;  // steps: of fewer, sizes alone can't tell which is wrong

// magnitude model
inline constexpr double kSizesConverged = 1e-10;
inline constexpr double kLeastLeak = 1e-5;  // −100 dB: no meter reads less, and the logarithm stays finite
// Before anything is read (judgements): a leak's quadrature, the shear, and the bend as in the fit with phases.
inline constexpr double kQuadratureSpread = 0.1;
inline constexpr double kShearSpread_rad = 0.1;
inline constexpr double kUnreadPhase_rad = 1.0;  // no datum reads the phases: any number keeps them
inline constexpr double kPreamplifierSpread_neper = 0.5;
inline constexpr double kLeastCut_neper = 1e-6;
inline constexpr double kFreeScale_u = 10.0;
inline constexpr int kDescendToTheEnd = 200;  // iterations

// observations
inline constexpr double kLeastDegrees = 6.0;
inline constexpr double kKnown = 1000.0;
inline constexpr double kMostTilt = 1e6;       // in either unit: more is no setting, and its square no number to compute with
inline constexpr double kMostRatio_u = 1e3;    // 60 dB above the driven channel: such a reading weighs nothing, and its square may overflow
inline constexpr double kLeastRatio_u = 1e-6;  // −120 dB: no analogue ratio is known better (a judgement)
inline constexpr double kLevelRepeats_neper = 0.003;  // 0.026 dB: how well a level comes back from playing to playing (a judgement)

// odd sizes
inline constexpr double kSizesApart = 1e-4;    // p-value below which sizes are not those of one response
inline constexpr double kSizesAgree = 0.01;    // p-value from which a meter's other readings agree
inline constexpr double kSizesClearly = 1000;  // times likelier without this row than without any other
inline constexpr std::size_t kSizesFrom = 5;   // rows, so that four are left
inline constexpr std::size_t kSizesMost = 30;  // rows: each is left out in turn, at the cost of its cube

// odd steps
inline constexpr double kOddContradict = 1e-4;  // p-value below which leaks are not those of one response
inline constexpr double kOddClearly = 13.8;  // chi-square, in units of the others' own scatter, between one step and any other: 1000 to 1
inline constexpr std::size_t kOneOddIn = 4;  // steps for each that may be odd
inline constexpr std::size_t kOddLeastRounds = 4;      // of naming one odd step after the other, whatever it costs
inline constexpr std::size_t kOddMostWork = 4000;      // rounds × steps: each round fits all steps some thirty times
inline constexpr std::size_t kOddOwnGainsMost = 40;    // steps: of more, odd ones are named among recordings of one gain only
inline constexpr std::size_t kOddMostCandidates = 16;  // steps tried, the worst first
inline constexpr double kOddMostUnexplained = 0.2;     // of the leaks' spread: more is another cartridge, not scatter (a judgement)
inline constexpr double kMostScatter_two = 25.0;  // of two steps, times their variance: five uncertainties; beyond, either may be anything
// Bands that are cut decibels apart are no contradiction of the leaks. Three steps need their levels: 3 dB; more do not.
inline constexpr double kLooseCut_neper = 0.35;
inline constexpr double kFreeCut_neper = 5.0;
inline constexpr double kLoose_neper = 0.3;  // 2.6 dB of each step

// step wiring
inline constexpr std::size_t kWiringFrom = 3;      // steps: of two, either may be the one of other wiring
inline constexpr std::size_t kTwoWiringsFrom = 5;  // so that most are alike
inline constexpr std::size_t kWiringMost = 30;     // steps, if none is odd by itself
inline constexpr std::size_t kTwoWiringsMost = 8;  // nine wirings of each two are tried; of more steps, two are odd by themselves
inline constexpr std::size_t kWiringMostOdd = 3;   // 63 wirings of them
// Gains of the recordings' own that a search for other wiring allows for, at its second try (judgements).
inline constexpr double kWiringOwnGain_db = 0.5;
inline constexpr double kWiringOwnPhase_deg = 5.0;
inline constexpr double kOtherWiring = 0.01;  // of one recording, before anything is seen (a judgement)

// tilt fit: how settings' errors may hang together, before anything is seen (judgements)
inline constexpr double kIndependentPrior = 0.8;
inline constexpr double kWalkPrior = 0.08;
inline constexpr double kWalkAndSettingsPrior = 0.04;
inline constexpr double kBacklashPrior = 0.04;
inline constexpr double kDriftPrior = 0.04;
inline constexpr double kCountedIndependentPrior = 0.15;  // of counted turns and stacked shims
inline constexpr double kCountedWalkPrior = 0.52;
inline constexpr double kCountedWalkAndSettingsPrior = 0.25;
inline constexpr double kStructureShows = 1.3;  // times likelier than independent errors; below, it would only widen every interval

// recording gains (judgements: half of the prior for recordings that are alike, the rest flat in the logarithm of the spread)
inline constexpr double kGainsAlike_p = 0.01;  // p-value from which one gain explains all recordings
inline constexpr double kNoOwnGain = 0.5;
inline constexpr double kOwnGainLow_db = 0.01;  // less is within what levels repeat to
inline constexpr double kOwnGainHigh_db = 2.6;
inline constexpr int kOwnGainPoints = 9;
inline constexpr double kOwnPhaseLow_deg = 0.02;
inline constexpr double kOwnPhaseHigh_deg = 86.0;
inline constexpr int kOwnPhasePoints = 11;
// Crosstalk that scatters by such a factor more than it states, and how often that happens.
inline constexpr double kNoisierThanStated[] = {1.4, 2, 3, 5, 8};
inline constexpr double kNoisierPrior = 0.05;
inline constexpr std::size_t kOwnGainMostSteps = 60;  // that the spreads are found from
inline constexpr double kOwnGainWorthReporting_db = 0.05;
inline constexpr double kOwnPhaseWorthReporting_deg = 0.5;

// recordings that are not fitted: wired otherwise if they contradict the fitted response as they are, and agree with it in another way
inline constexpr double kOutsideContradicts = 50.0;  // chi-square of crosstalk and level
inline constexpr double kOutsideAgrees = 20.0;
inline constexpr double kOutsideClearly = 30.0;   // less than that of any other wiring
inline constexpr double kOutsideModel_u = 0.005;  // of the crosstalk: what the response at a tilt found by differences lacks
inline constexpr double kOutsideLevel_u = 0.01;   // neper: what tilt does to the levels is not computed

// root distribution
inline constexpr double kReach_deg = 6.0;            // an answer further from least crosstalk is no azimuth
inline constexpr double kReachEstimated_deg = 20.0;  // heavy tails of a gauge known from few steps need more room
inline constexpr double kReachLook_deg = 0.25;       // between looks for the end of the stretch that counts: it turns back over degrees
inline constexpr double kReachWiden_deg = 1.0;       // between looks at the whole mixture, where its tails reach further
inline constexpr double kThinTail = 0.01;            // of probability: less than any quantile that is asked for
inline constexpr double kLeastSpread = 1e-15;
inline constexpr int kSecants = 8;          // rounds before the bracketing method takes over
inline constexpr double kSettled = 1e-9;    // standard deviations a round may still move: the next would move 1e-11
inline constexpr double kFirstStep = 1e-3;  // of the likeliest account's own spread, for a first slope

// signal fit
inline constexpr int kSignalIterations = 12;
inline constexpr int kOwnGainIterations = 30;  // recordings with gains of their own start further off
inline constexpr double kConverged_rad = 1e-13;
inline constexpr std::size_t kSignalPriors = 6;
// Inter-channel phase of a playback chain at test frequencies before anything is measured: weak, two samples at 48 kHz (a judgement).
inline constexpr double kGainPhaseSpread_rad = radians(20.0);
// A lateral band's own phase between its two walls as cut (a judgement).
inline constexpr double kCutPhaseSpread_rad = radians(0.2);
inline constexpr double kPhaseReading_rad = radians(0.05);
// Spread of each of the four leaks' tilts over noise beyond which the gain ratio is started from the response instead of the levels.
inline constexpr double kResponseOverNoise = 100.0;

// solve
inline constexpr double kEqualMayCost_db = 1.0;  // over the least total, for equal crosstalk to be recommended
inline constexpr double kDisagree_deg = 0.05;    // criteria further apart than this are worth a word

// step trends
inline constexpr double kTrendOver_u = 3.0;
inline constexpr std::ptrdiff_t kLeastOfTrend = 3;  // steps: two always lie on a line
inline constexpr double kBalanceWorthTelling_db = 0.05;
inline constexpr double kDistortionWorthTelling = 0.5;  // percentage points over the span
inline constexpr double kMostDistortion_percent = 1e4;  // beyond it, and below 0, none was measured
inline constexpr double kDistortionRepeats = 0.1;       // percentage points (a judgement)
inline constexpr double kSettingWorthTelling_deg = 0.02;
inline constexpr double kBentBelow = 0.01;  // p-value
inline constexpr double kBentOver_u = 2.0;  // of the gauge's uncertainty: settings further off are no gauge's scatter

// tilt fit
inline constexpr double kUnderstated_p = 0.01;     // p-value below which a stated gauge is not believed
inline constexpr double kUnderstatedPrior = 0.05;  // of a gauge worse than stated, before anything is seen (a judgement)
inline constexpr double kUnderstatedMost = 10.0;   // times worse, at most
inline constexpr int kUnderstatedPoints = 12;
inline constexpr double kClearlyWrong = 5.0;    // log odds, 150 to 1, for one wrong step against a gauge that is worse throughout
inline constexpr std::size_t kScatterFrom = 4;  // steps from which Student's t on the scatter is efficient; three take the grid
/// An account less likely than this is not asked.
inline constexpr double kLeastProbability = 1e-9;
/// Standard uncertainty taken for the gauge where one or two steps can't show it, degrees (a judgement).
inline constexpr double kAssumedGauge_deg = 0.1;

// uncertainty
inline constexpr double kPerfectScale_u = 1e-9;
inline constexpr double kPerfectCut_neper = 1e-6;
inline constexpr double kPerfectGauge_deg = 1e-5;

}  // namespace evenwall::internal::solve
