// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the constants of the method: how a session is fitted and what is reported. Each has its unit and reason; see also docs/method.md.
#pragma once

#include <cmath>
#include <cstddef>
#include <cstdint>

#include "evenwall/units.hpp"

namespace evenwall::internal::solve {

// advice
// Tilt up to which the contact edges of a stylus keep to their walls, by the major radius of its tip. Common practice; there is no source.
inline constexpr double kLargeRadius_um = 100.0;
inline constexpr double kLargeRadiusLimit_deg = 1.8;
inline constexpr double kSmallRadiusLimit_deg = 2.5;
inline constexpr double kHoleSpacing_mm = 12.7;   // half an inch between the mounting screws
inline constexpr double kWorthwhile = 0.9;        // an uncertainty must fall below this share for one more capture to be advised
inline constexpr double kGoodEnough_deg = 0.005;  // an azimuth cannot be set closer by hand
inline constexpr double kBeyond_deg = 0.05;       // an answer further than this beyond the captured tilts is extrapolated
inline constexpr double kAdviceReach_deg = 1.0;   // how far beyond the captured tilts a capture may be advised
inline constexpr int kAdviceCandidates = 17;
inline constexpr std::size_t kAdviceMostSteps = 40;  // with more steps, no further capture is advised

// correction to the logged azimuth (audit.cpp)
inline constexpr double kNamedWrong = 0.9;
inline constexpr double kPossiblyWrong = 0.5;
inline constexpr std::size_t kNamedFrom = 4;     // steps; if three contradict each other, any one of them may be wrong
inline constexpr double kContradiction = 0.001;  // p-value of the scatter of three settings about a stated gauge
inline constexpr double kLeastMagnitude = 1e-6;

// present state and verdict
inline constexpr double kNoTurn_deg = 0.005;           // a hand cannot set a smaller turn
inline constexpr double kLeastDegreesPerUnit = 1e-9;   // below it, no turn of the ruler can be stated
inline constexpr double kDefaultTolerance_deg = 0.05;  // changes crosstalk of −35 dB by 0.4 dB (a judgement)

// criteria
inline constexpr double kSignificance = 5.0;  // |σ| over its uncertainty; the sign of σ is then wrong in 3 of 10⁷
inline constexpr double kClearSignificance =
    8.0;  // from here on, and from the next but one on, a criterion has its full share (judgements)
inline constexpr double kWidestOffset_deg = 0.25;                      // 95 % half-width of the criterion's distance from least crosstalk
inline constexpr double kNarrowOffset_deg = kWidestOffset_deg / 2.25;  // the same with a full share; it fades to 0 at kWidestOffset_deg
inline constexpr double kWideOffsetSlope = 2.0;
inline constexpr double kPhaseMargin = 1.5;  // |σ|² over |ρ|²; above it, both channels' crosstalk is in phase rather than in antiphase

// curves
inline constexpr int kCurvePoints = 81;
inline constexpr double kCurveMargin_deg = 0.5;
inline constexpr double kCurveStep_rad = 1e-6;

// gauge model
inline constexpr double kLeastWeightLeft = 1e-3;  // share of a row's own weight; below it, 1 − share has lost three digits
inline constexpr double kLeastMisfit = 1e-4;      // share of the misfit; below it, the difference has lost four digits
// If the gauge was not touched, lowering the stylus again changes the tilt by less than this.
inline constexpr double kSameSetting_rad = radians(0.5);
inline constexpr double kLeastOwn_rad2 = 1e-24;  // added to the unshared variance of a tilt: keeps a factor positive, changes no digit
inline constexpr double kLeastRange = 1e-9;  // range of the settings over their largest magnitude; below it, only a constant is subtracted

// gauge problem
inline constexpr double kLeastScale_u = 1e-5;  // used for a scale that is stated as exact
inline constexpr double kLeastGauge_rad = radians(1e-5);
inline constexpr double kGaugeGridLow_deg = 0.002;  // better gauges cannot be distinguished from perfect ones
inline constexpr double kGaugeGridHigh_deg = 0.8;
inline constexpr int kGaugeGridPoints = 25;
inline constexpr double kMostGauge_rad = radians(60.0);
inline constexpr double kOverspread = 0.05;               // share of the expected misfit; below it, the spread is far too large
inline constexpr double kUsualGauge_rad = radians(0.2);   // worse gauges are rare; the prior weight is one half here (a judgement)
inline constexpr double kProbabilityWrong = 0.02;         // prior probability that a step is logged wrong (a judgement)
inline constexpr double kWrongSpread_rad = radians(0.6);  // standard deviation of a wrong log entry (a judgement)
// That of a gross mistake, such as a wrong sign or a missing decimal point, and how many of these come with one usual mistake (judgements).
// Without it, a wrong sign would be so improbable that errors which add up from move to move would explain it better.
inline constexpr double kGrossSpread_rad = radians(10.0);
inline constexpr double kGrossPerUsual = 0.25;
inline constexpr double kDropped_rad = radians(30.0);  // spread that removes the influence of a step's logged tilt
inline constexpr std::ptrdiff_t kTwoWrongFrom = 6;     // settings; with fewer, two wrong ones leave fewer than four that agree
inline constexpr std::size_t kTwoWrongAmong = 6;       // number of the likeliest settings that are paired; other pairs are less likely
inline constexpr double kLeastAccount = 1e-7;          // share of the likeliest account's weight; less changes no digit of the interval
// Prior of the repeatability of lowering while the gauge is not touched (judgements): perfect, or flat in its logarithm.
inline constexpr double kNoLowering = 0.3;
inline constexpr double kLoweringLow_deg = 0.001;
inline constexpr double kLoweringHigh_deg = 0.3;
inline constexpr int kLoweringPoints = 9;
inline constexpr double kResetEachTime = 0.2;  // prior probability that each repeat of one tilt was set anew (a judgement)
// A log in another unit than degrees (for example millimetres of shims) under the name of degrees: its share, and the relative standard
// deviation of the scale (judgements). Without it, errors that add up would have to explain such a log.
inline constexpr double kOtherUnit = 0.01;
inline constexpr double kOtherUnit_u = 1.0;
inline constexpr std::ptrdiff_t kOtherUnitFrom = 3;  // settings; with fewer, the scale cannot be checked
// A cartridge that is rolled about an axis at 15° to 25° to the groove turns by the logged angle times the cosine (judgements).
inline constexpr double kOffsetAxis = 0.04;
inline constexpr double kOffsetAxisScale = 0.95;
inline constexpr double kOffsetAxisScale_u = 0.05;
// Three settings logged in halves or quarters of a degree: prior odds that they were rounded, and spread of ln(spread of rounding).
inline constexpr double kRoundedPrior = 0.5;
inline constexpr double kRoundedSpread = 0.25;

// gauge structures
inline constexpr double kTimeApart = 0.4;  // a drift is considered if more than this share of the captures' time is not linear in the tilts
inline constexpr double kBacklashSpread_rad = radians(0.15);  // prior standard deviations of backlash and drift (judgements)
inline constexpr double kDriftSpread_rad = radians(0.1);
inline constexpr double kWalkLow_deg = 0.01;  // root mean square over the captures
inline constexpr double kWalkHigh_deg = 0.4;
inline constexpr int kWalkPoints = 8;
inline constexpr std::size_t kCoarseGrid = 3;  // grid step for many settings, whose spread is known better than the grid's spacing
inline constexpr std::ptrdiff_t kStructuresNameUpTo = 30;  // settings; with more, a wrong one is considered only with independent errors
inline constexpr std::ptrdiff_t kExchangedFrom = 4;
inline constexpr double kExchangedPrior = 0.01;      // prior probability that two rows are exchanged (a judgement)
inline constexpr double kExchangeStraightens = 0.5;  // share of the log's straying; a pair that leaves more is not considered
inline constexpr double kStrayingMean = 0.2;

// direction
// Least magnitude of the cosine of a both-channel band's phase that shows the polarity: less than 60° from 0° or 180° (a judgement).
inline constexpr double kClearPolarity = 0.5;

// joint fit
inline constexpr double kDefaultCutLevel_u_db = 0.3;  // standard uncertainty of the cut levels' difference in one record (a judgement)
inline constexpr double kDefaultScale_u = 0.02;       // standard uncertainty of a gauge's degree (a judgement)
inline constexpr double kLogOddsSure = 6.0;           // the log's own sense is doubted from odds of 400 to 1 against it
inline constexpr double kScaleOff = 3.0;              // combined uncertainties
inline constexpr double kCutMismatchOff = 3.0;
inline constexpr std::size_t kLeastSettingsOfSizes = 3;
inline constexpr double kSizesMisfit = 0.01;         // p-value, the same in the fit of magnitudes
inline constexpr double kUninformedCut_neper = 5.0;  // levels with this uncertainty carry no information

// magnitude fit
inline constexpr int kSizesFirstLook = 40;           // iterations
inline constexpr std::size_t kSizesStartSteps = 60;  // steps from which a start is found; a session read by hand has fewer
inline constexpr double kWideQuadrature = 0.02;      // crosstalk starts well above zero, so that the logarithm has no pole near the way
inline constexpr double kLeastBendSpread_rad = 0.02;
inline constexpr double kSizesLeastGauge_rad = radians(1e-4);
inline constexpr std::size_t kSizesNamedFrom = 5;  // steps; with fewer, magnitudes alone cannot show which step is wrong

// magnitude model
inline constexpr double kSizesConverged = 1e-10;
inline constexpr double kLeastLeak = 1e-5;  // −100 dB: no meter reads less, and the logarithm stays finite
// Prior standard deviations of the crosstalk's quadrature and of the shear (judgements). The bend's is as in the fit with phases.
inline constexpr double kQuadratureSpread = 0.1;
inline constexpr double kShearSpread_rad = 0.1;
inline constexpr double kUnreadPhase_rad = 1.0;  // no datum depends on the phases; any finite spread determines them
inline constexpr double kPreamplifierSpread_neper = 0.5;
inline constexpr double kLeastCut_neper = 1e-6;
inline constexpr double kFreeScale_u = 10.0;
inline constexpr int kDescendToTheEnd = 200;  // iterations

// observations
inline constexpr double kLeastDegrees = 6.0;
inline constexpr double kKnown = 1000.0;
inline constexpr double kMostTilt = 1e6;       // in either unit; a larger number cannot be a setting, and its square is not computable
inline constexpr double kMostRatio_u = 1e3;    // 60 dB above the driven channel; such a reading has no weight, and its square may overflow
inline constexpr double kLeastRatio_u = 1e-6;  // −120 dB: no analogue ratio is known better (a judgement)
inline constexpr double kLevelRepeats_neper = 0.003;  // 0.026 dB: repeatability of a level from playing to playing (a judgement)

// odd sizes
inline constexpr double kSizesApart = 1e-4;    // p-value below which magnitudes contradict one response
inline constexpr double kSizesAgree = 0.01;    // p-value from which the other readings of a meter agree
inline constexpr double kSizesClearly = 1000;  // p-value without this row over that without any other row
inline constexpr std::size_t kSizesFrom = 5;   // rows, so that four remain
inline constexpr std::size_t kSizesMost = 30;  // rows; each is excluded in turn, at a cost that grows with the cube of their number

// odd steps
inline constexpr double kOddContradict = 1e-4;  // p-value below which the crosstalk contradicts one response
// Difference of chi-square between excluding one step and any other, in units of the others' own scatter: 1000 to 1.
inline constexpr double kOddClearly = 13.8;
inline constexpr std::size_t kOneOddIn = 4;          // steps for each one that may be excluded
inline constexpr std::size_t kOddLeastRounds = 4;    // rounds that exclude one step each, whatever they cost
inline constexpr std::size_t kOddMostWork = 4000;    // rounds × steps; each round fits all steps some thirty times
inline constexpr std::size_t kOddOwnGainsMost = 40;  // steps; with more, a wrong step is searched for with one gain for all recordings only
inline constexpr std::size_t kOddMostCandidates = 16;  // steps tried, the worst first
inline constexpr double kOddMostUnexplained =
    0.2;  // share of the crosstalk's spread; more is not scatter but another cartridge (a judgement)
// Factor on the variance of two steps: five uncertainties. Beyond it, neither step can be trusted.
inline constexpr double kMostScatter_two = 25.0;
// Bands whose cut levels differ by decibels do not contradict the crosstalk. Up to three steps need their levels: 3 dB. More do not.
inline constexpr double kLooseCut_neper = 0.35;
inline constexpr double kFreeCut_neper = 5.0;
inline constexpr double kLoose_neper = 0.3;  // 2.6 dB, of the level of each step

// step wiring
inline constexpr std::size_t kWiringFrom = 3;      // steps; of two, either may be the one that is wired otherwise
inline constexpr std::size_t kTwoWiringsFrom = 5;  // steps, so that most are wired alike
inline constexpr std::size_t kWiringMost = 30;     // steps, if no step is flagged by its crosstalk
inline constexpr std::size_t kTwoWiringsMost = 8;  // steps; nine wirings of each pair are tried. With more, crosstalk flags the pair
inline constexpr std::size_t kWiringMostOdd = 3;   // flagged steps; 63 wirings of them are tried
// Spread of the recordings' own gains that the search for other wiring allows in its second attempt (judgements).
inline constexpr double kWiringOwnGain_db = 0.5;
inline constexpr double kWiringOwnPhase_deg = 5.0;
inline constexpr double kOtherWiring = 0.01;  // prior probability that one recording is wired otherwise (a judgement)

// tilt fit: prior probabilities of the relations between the settings' errors (judgements)
inline constexpr double kIndependentPrior = 0.8;
inline constexpr double kWalkPrior = 0.08;
inline constexpr double kWalkAndSettingsPrior = 0.04;
inline constexpr double kBacklashPrior = 0.04;
inline constexpr double kDriftPrior = 0.04;
inline constexpr double kCountedIndependentPrior = 0.15;  // for counted turns and stacked shims
inline constexpr double kCountedWalkPrior = 0.52;
inline constexpr double kCountedWalkAndSettingsPrior = 0.25;
inline constexpr double kStructureShows = 1.3;  // times likelier than independent errors; otherwise it would only widen every interval

// recording gains (judgements: half of the prior for recordings that are alike, the rest flat in the logarithm of the spread)
inline constexpr double kGainsAlike_p = 0.01;  // p-value from which one gain explains all recordings
inline constexpr double kNoOwnGain = 0.5;
inline constexpr double kOwnGainLow_db = 0.01;  // a smaller spread is within the repeatability of levels
inline constexpr double kOwnGainHigh_db = 2.6;
inline constexpr int kOwnGainPoints = 9;
inline constexpr double kOwnPhaseLow_deg = 0.02;
inline constexpr double kOwnPhaseHigh_deg = 86.0;
inline constexpr int kOwnPhasePoints = 11;
// Factors by which crosstalk may scatter more than its stated uncertainty, and the prior probability of that.
inline constexpr double kNoisierThanStated[] = {1.4, 2, 3, 5, 8};
inline constexpr double kNoisierPrior = 0.05;
inline constexpr std::size_t kOwnGainMostSteps = 60;  // steps from which the spreads are found
inline constexpr double kOwnGainWorthReporting_db = 0.05;
inline constexpr double kOwnPhaseWorthReporting_deg = 0.5;

// recordings that are not fitted: they are wired otherwise if they contradict the fitted response, and agree with it in another wiring
inline constexpr double kOutsideContradicts = 50.0;  // chi-square of crosstalk and level
inline constexpr double kOutsideAgrees = 20.0;
inline constexpr double kOutsideClearly = 30.0;   // by which it must be less than that of any other wiring
inline constexpr double kOutsideModel_u = 0.005;  // share of the crosstalk: error of the response at a tilt found by differences
inline constexpr double kOutsideLevel_u = 0.01;   // neper: allows for the effect of the tilt on the levels, which is not computed

// root distribution
// More degrees of freedom are given as infinitely many: the interval differs by 0.12 %.
inline constexpr double kPracticallyNormal_nu = 1000;
inline constexpr double kReach_deg = 6.0;            // an answer further from least crosstalk is not a possible azimuth
inline constexpr double kReachEstimated_deg = 20.0;  // the heavy tails of a gauge that is known from few steps need more room
// Step of the search for the end of the range of tilts that counts. The deviate turns back over degrees.
inline constexpr double kReachLook_deg = 0.25;
inline constexpr double kReachWiden_deg = 1.0;  // step of the search by the whole mixture, if its tails reach further
inline constexpr double kThinTail = 0.01;       // probability of a tail; less than that of any quantile that is computed
inline constexpr double kLeastSpread = 1e-15;
inline constexpr int kSecants = 8;          // rounds before the bracketing method takes over
inline constexpr double kSettled = 1e-9;    // standard deviations from the target at which to stop; the next round would move 1e-11
inline constexpr double kFirstStep = 1e-3;  // share of the reach, from which the step for the first slope is reduced

// signal fit
inline constexpr int kSignalIterations = 12;
inline constexpr int kOwnGainIterations = 30;  // recordings with gains of their own start further from the solution
inline constexpr double kConverged_rad = 1e-13;
inline constexpr std::size_t kSignalPriors = 6;
// Prior of a playback chain's inter-channel phase at test frequencies: weak, two samples at 48 kHz (a judgement).
inline constexpr double kGainPhaseSpread_rad = radians(20.0);
// Phase between the two walls of a lateral band as cut (a judgement).
inline constexpr double kCutPhaseSpread_rad = radians(0.2);
inline constexpr double kPhaseReading_rad = radians(0.05);
// Sum of squares of the crosstalk between steps over that of its noise; above it, the gain ratio starts from the response, not the levels.
inline constexpr double kResponseOverNoise = 100.0;

// solve
inline constexpr double kEqualMayCost_db = 1.0;   // above the least total; equal crosstalk is recommended up to this cost (a judgement)
inline constexpr double kChoiceMatters_db = 0.5;  // a difference in the total that a choice of the criterion makes (a judgement)

// step trends
inline constexpr double kTrendOver_u = 3.0;
inline constexpr std::ptrdiff_t kLeastOfTrend = 3;  // steps; two always lie on a line
inline constexpr double kBalanceWorthTelling_db = 0.05;
inline constexpr double kDistortionWorthTelling = 0.5;  // percentage points over the span
inline constexpr double kMostDistortion_percent = 1e4;  // a larger or negative number is not a measured distortion
inline constexpr double kDistortionRepeats = 0.1;       // percentage points (a judgement)
inline constexpr double kSettingWorthTelling_deg = 0.02;
inline constexpr double kBentBelow = 0.01;  // p-value
inline constexpr double kBentOver_u = 2.0;  // times the gauge's uncertainty; a larger deviation of the settings is not the gauge's scatter

// tilt fit
inline constexpr double kUnderstated_p = 0.01;     // p-value below which a stated gauge is not believed
inline constexpr double kUnderstatedPrior = 0.05;  // prior probability of a gauge worse than stated (a judgement)
inline constexpr double kUnderstatedMost = 10.0;   // largest factor by which it may be worse
inline constexpr int kUnderstatedPoints = 12;
inline constexpr double kClearlyWrong = 5.0;    // log odds, 150 to 1, for one wrong step against a gauge that is worse throughout
inline constexpr std::size_t kScatterFrom = 4;  // settings from which Student's t on the scatter is efficient; for three, the grid is used
/// Accounts less likely than this are ignored.
inline constexpr double kLeastProbability = 1e-9;
// A mixture of more accounts than this is condensed for the distributions of the criteria; accounts that are less probable than
// kSmallAccount and closer than kMixtureCell standard deviations are merged (account_mixture.hpp).
inline constexpr std::size_t kManyAccounts = 400;
inline constexpr double kSmallAccount = 1e-3;
inline constexpr double kMixtureCell = 0.25;
/// Standard uncertainty that is assumed for the gauge if one or two steps cannot show it, degrees (a judgement).
inline constexpr double kAssumedGauge_deg = 0.1;

// turn fit
// Tilts by the signal that are further apart, in uncertainties of their difference, show the gain ratio to a tenth (a judgement).
inline constexpr double kAzimuthsApart_u = 10.0;

// uncertainty
inline constexpr double kPerfectScale_u = 1e-9;
inline constexpr double kPerfectCut_neper = 1e-6;
inline constexpr double kPerfectGauge_deg = 1e-5;

}  // namespace evenwall::internal::solve
