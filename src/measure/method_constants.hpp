// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the constants of the method for finding passages and measuring crosstalk, each with its unit and reason; see also docs/method.md.
#pragma once

#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>

#include "evenwall/units.hpp"

namespace evenwall::internal::measure {

// combine
inline constexpr double kLeastVariance = 1e-20;  // of a ratio; a digital capture without noise still gets a weight
inline constexpr double kSameTone = 0.03;        // speed errors of two playings of one tone stay inside this share

// declick
inline constexpr double kDeclickBlock_s = 0.021;   // noise is assumed steady for that long
inline constexpr double kDeclickFirstLimit = 4.0;  // of the median magnitude; a sine's peak is 1.41 times that
inline constexpr double kClickStandsOut = 4.5;     // robust standard deviations; one sample in 150,000 of noise exceeds it
inline constexpr double kMedianOverSd = 0.67449;
inline constexpr double kClickMargin_s = 0.0002;     // excluded on each side of a click, for its slopes
inline constexpr std::size_t kClickSideSamples = 8;  // samples whose mean a gap's line starts or ends at
inline constexpr int kDeclickRounds = 3;

// hum
inline constexpr double kHumFrame_s = 0.7;
inline constexpr double kHumKept_hz = 6000;
inline constexpr double kHumLeastRoom = 1000;      // frames at about 6 kHz: 0.17 s
inline constexpr std::int64_t kHumMostFrames = 2;  // the first and the last
inline constexpr std::size_t kHumPart = 512;       // frames that are decimated at a time
inline constexpr int kHumHarmonics = 6;
inline constexpr int kHumHighestHarmonic = 12;  // above it hum has no line louder than those below
inline constexpr double kHumOnGrid = 0.0015;    // share by which the mains and a sound card's clock deviate
inline constexpr double kHumStandsOut = 10.0;   // in power, relative to the bins around
inline constexpr double kHumBesideTone = 400;   // in power (26 dB); if the other lines are weaker, the tone is not hum
inline constexpr double kHumOutside_s = 0.35;   // examined before and after the stretch
inline constexpr double kHumGoesOn = 0.25;      // in power; a line 6 dB weaker is still the same line

// inner frames
inline constexpr std::size_t kEdgeFrames = 3;        // half a frame's hops plus one, so that inner frames hold only the tone
inline constexpr std::size_t kEdgeMedianFrames = 4;  // frames on each side, so that a click near an edge does not move it
inline constexpr double kLeastLevel = 0.5;           // of the local median amplitude; outside lie fades, dropouts and clicks
inline constexpr double kLargestLevel = 1.5;
inline constexpr double kMostDetuning = 0.03;      // share of the frequency; wow of 0.6 % and flutter stay well below
inline constexpr double kLeastDetuning_hz = 10.0;  // noise turns a frame's phase by that much
/// A passage with fewer frames is not measured.
inline constexpr std::size_t kLeastFrames = 24;

// interruptions
inline constexpr double kLeastSilence_s = 0.0004;
inline constexpr double kLeastSilence_periods = 0.25;
inline constexpr std::size_t kMostSilences = 1000;  // keeps memory small; a longer list is of no use
inline constexpr std::size_t kJumpNearHops = 2;     // half a frame, so that the frames on both sides do not hold the jump
inline constexpr std::size_t kJumpFarHops = 6;      // a click that moves the frame at kJumpNearHops does not reach this one
inline constexpr double kLeastJump_rad = 0.35;      // 20°, one sample of 48 at 2.7 kHz
inline constexpr double kJumpStandsOut = 8.0;       // robust standard deviations; flutter stays below three
inline constexpr double kSameJump_rad = 0.5;
inline constexpr double kOneJump_s = 0.1;
inline constexpr std::size_t kEnoughJumpSizes = 600;  // enough for a median

// listen
inline constexpr double kListenReach_s = 0.06;  // the scan places an edge to about one step, so this much more is read
// Above about 8 s every second frame is enough, because windows that overlap by half still weigh all samples alike.
inline constexpr std::size_t kFramesToSpare = 1500;
inline constexpr std::size_t kEnoughSpeeds = 600;
inline constexpr std::size_t kEnoughSpectra = 12;    // spread over the passage; they give noise and distortion, not the crosstalk
inline constexpr double kManyClicks = 0.12;          // share of frames; 2 clicks/s spoil 7 %, 10/s a third
inline constexpr double kLongestDeclicked_s = 60.0;  // removing clicks is slow, and a longer passage can lose frames
inline constexpr double kFewFileSteps = 8;
inline constexpr double kSpeedSure = 0.9;          // share of the evidence above which a speed is reported
inline constexpr double kStepWorthTelling = 0.05;  // of the crosstalk; 0.4 dB

// local level
inline constexpr double kLocalLevelWindow_s = 0.75;
inline constexpr double kUsualLevelFactor = 1.25;      // factor up or down; wow, warp and noise stay within it
inline constexpr std::size_t kFewEnoughMedians = 128;  // so many single medians take no longer than a passage's running median

// lock in
// Four hops make a frame of 21 ms. Frames that overlap by 75 % reach 1.03 of the Cramér–Rao bound, and a click costs only four of them.
inline constexpr double kLockInHop_s = 0.00533;

// long passages
inline constexpr double kPartOverlap_s = 0.5;         // a step of level needs 0.4 s on either side
inline constexpr std::size_t kMostNotedJumps = 1000;  // of gaps, and of jumps, in one passage joined from parts
/// Longer passages are measured in parts; a shorter one is a single part. Two minutes of frames and their fit take 5 MB.
inline constexpr double kLongestAtOnce_s = 120.0;

// noise listen, and sweeps
inline constexpr double kHighestShare = 0.45;  // of the sample rate

// noise passages
inline constexpr std::size_t kNoiseMostClickBlocks = 3;
inline constexpr std::size_t kNoiseLeastBlocks = 5;   // 2.5 s
inline constexpr double kNoiseLeastFullness = -0.85;  // noise has −0.58 in one channel; tones, voices and music have less than −1
inline constexpr double kNoiseSteady_db = 2.5;        // five standard deviations of the lowest octave
// Steam, wind and fast loops fill an octave as noise does, but they are less steady. Limit for the median over the blocks of the octaves'
// mean; that of noise varies by a tenth.
inline constexpr double kNoiseMostUnrest = 1.2;
inline constexpr double kNoiseMostWander_db =
    0.6;  // standard deviation of the blocks' levels from 1 kHz up; noise itself has 0.25 dB, the record adds some
inline constexpr double kBandDrivenAhead_db = 6.0;    // as for sweeps, in every octave
inline constexpr double kNoiseAlike_db = 4.0;         // channels of a both-channel passage
inline constexpr double kNoiseCoherence = 0.5;        // coherence of a both-channel passage
inline constexpr double kNoiseLeastCoherence = 0.02;  // coherence of crosstalk with its source, in half of the octaves
inline constexpr double kNoiseNoCrosstalk_db = 90;  // no record separates its channels by that much; the weaker channel is digital silence
inline constexpr double kNoiseQuietest_rms = 3e-3;  // −50 dBFS of the driven channel; surface noise is weaker
inline constexpr double kNoiseEdge_db = 3.0;
inline constexpr std::size_t kNoiseBridgeFrames = 6;  // 0.3 s

// octave scan
inline constexpr double kHighestLineShare = 0.9;    // of the lines; converters filter out those above
inline constexpr double kLeastOctavePower = 1e-30;  // eight of them multiplied stay a normal number
inline constexpr std::size_t kOctaves = 6;
/// Centre of the lowest octave in use, Hz; each further centre is twice the one before.
inline constexpr double kLowestOctave_hz = 250.0;
inline constexpr std::size_t kFirstFull = 2;  // index of the octave of 1 kHz; from it on each octave of a look has 30 lines or more
/// Number of looks in a block of half a second; it makes an octave's level steady to about 0.5 dB.
inline constexpr std::size_t kOctaveBlockFrames = 10;

// passages
inline constexpr double kTonal = 0.5;          // least share of the power in a tone frame's line; 0 dB over everything else above 150 Hz
inline constexpr double kQuietestTone = 3e-4;  // −70 dBFS; quantisation and preamplifier noise lie below it
// At a tilt of 22.5° a left-only groove and a lateral one look alike; tan 22.5° is -7.66 dB. The limit halfway between them is right at
// every smaller tilt.
inline constexpr double kToneDrivenAhead_db = 7.66;
inline constexpr double kSamePitch = 0.015;   // wow of 0.6 % peak with flutter, both ways
inline constexpr double kToneBridge_s = 0.3;  // a click or dropout does not end a tone
inline constexpr double kToneShortest_s = 0.5;
inline constexpr std::size_t kFewestToneFrames = 3;  // fewer occur by chance
inline constexpr double kWorthNaming_s = 0.3;
inline constexpr double kToneGrid_hz = 0.0625;
inline constexpr double kOnPitchShare = 0.9;  // of a run's frames must lie within kSamePitch of its median
inline constexpr double kSteadyShare = 0.7;   // of the frames between first and last must be that tone

// quality
inline constexpr double kClippedSoft = 0.0005;  // share of samples in flat tops; single clicks stay below it
inline constexpr double kDcWorthTelling = 0.01;
inline constexpr double kLowLevel_dbfs = -50.0;
inline constexpr double kPoorSnr_db = 20.0;
inline constexpr double kUnevenWow_percent = 0.5;
inline constexpr double kLostShare = 0.02;
inline constexpr double kLoudHum_db =
    -30.0;  // against the tone; the error is 0.005° at -18 dB (tests/reference), but may be larger near a multiple of the mains
/// If more than this share of a passage's samples is clipped, the capture is refused.
inline constexpr double kClippedHard = 0.01;
/// The capture is also refused if more than this share of a passage's samples are not finite numbers.
inline constexpr double kNotFiniteMost = 0.05;

// sample faults
inline constexpr std::int64_t kFlatTop = 3;         // samples (a judgement)
inline constexpr std::int64_t kPlateauReserve = 2;  // times the run of a pure sine, for tones with distortion (a judgement)

// sample step
inline constexpr std::int64_t kStepLeastSeen = 64;
inline constexpr std::int64_t kStepEnough = 8192;  // samples other than zero; one in two has the last bit set
inline constexpr double kRoundedTone = 0.157;      // 2/π² · √(ζ(3)/2)
inline constexpr double kLostTone_steps = 0.7;     // subtracted; up to one step, the error is then uniform within half a step
inline constexpr std::size_t kNoisePieces = 4;     // of the first samples, 1,024 frames each
inline constexpr double kFinestSteps = 8388608;    // steps of 24 bits to full scale
inline constexpr float kMostFloatSteps = 256;      // a larger float has no such steps

// scan
inline constexpr std::int64_t kScanMostAhead = 2'000'000;  // looks in a day
// A frame is long enough to separate a tone from noise 25 dB up (a tone burst of 2.5 s has about 50 frames), and short enough to place
// the tone's edges.
inline constexpr double kScanFrame_s = 0.0427;  // 2048 samples at 48 kHz
inline constexpr double kScanStep_s = 0.05;
inline constexpr double kScanClickLimit = 4.0;          // multiples of the median magnitude
inline constexpr std::size_t kClickLimitSamples = 512;  // of a frame's channel, for its medians
inline constexpr double kClickPowerDoubt = 4.0;         // a Hann window weighs a click by up to 2.67; the rest is interference
inline constexpr std::size_t kLobeBins = 3;             // a Hann line holds all but 1e-4 of its power within ±3 bins, wow included
// Frames from one certain look to the next. Anything that fits between them unseen (0.21 s) is shorter than any gap that ends a tone
// (kToneBridge_s, 0.3 s), and nothing long enough to be reported (kWorthNaming_s, 0.3 s) fits between them.
inline constexpr std::int64_t kScanStride = 5;
inline constexpr double kSureTone = 0.8;               // share of the power in the line
inline constexpr double kSameToneBetweenLooks = 0.01;  // of the frequency, 0.2 s apart; wow of 0.6 % moves it by 0.4 %
inline constexpr double kSameLevelFactor = 1.122;      // 1 dB
inline constexpr double kSweepLeastTonal = 0.1;        // find_sweeps requires the same of its lines
inline constexpr std::array<double, 2> kScanThresholds{kSweepLeastTonal, kTonal};  // of the share of the power that a line holds
inline constexpr double kQuietPower = 1e-3;       // r.m.s. of all octaves, −60 dBFS: clicks in it hide no tone
inline constexpr double kFaintPower = 2.5e-3;     // likewise, −52 dBFS: this is no test noise, for find_noise requires −50 dBFS
inline constexpr double kSameQuietness = 1.9953;  // 3 dB of power
/// No tone is looked for below this, because mains hum, rumble and warp lie there.
inline constexpr double kLowestTone_hz = 150.0;

// separation
inline constexpr double kLeastSeparation_db = 15.0;  // DIN 45500-3:1984, see separation.hpp

// slips
inline constexpr std::size_t kSlipReachFrames = 64;  // frames of each mean: 0.34 s
inline constexpr std::size_t kSlipNearFrames = 12;   // frames of the means that show how sudden the jump is
inline constexpr std::size_t kSlipSpoiltFrames = 4;  // frames on each side that may contain the jump itself
inline constexpr double kSlipOneSample = 0.25;       // a jump equals one sample within this share
inline constexpr double kSlipNearOneSample = 0.5;
inline constexpr double kSlipMostApart_s = 0.06;  // between one passage's end and the next one's start
inline constexpr double kSlipAround_s = 0.08;     // read before and after
inline constexpr double kSlipPeriods = 4.0;       // fitted on each side of the sample where the tone changes channels
inline constexpr double kSlipSamePitch = 0.01;
inline constexpr double kSlipSameLevel = 0.05;
inline constexpr double kSlipSameCrosstalk = 0.05;  // of the larger crosstalk, in addition to its uncertainty
inline constexpr double kSlipMostDoubt = 0.3;       // of the larger crosstalk; with more, the two walls cannot be distinguished
inline constexpr double kSlipMostSamples = 1.5;     // limit of the phase between the two sides,
inline constexpr double kSlipMostPhase_rad = 0.2;   // and an allowance for wow over four periods
inline constexpr double kSlipMostResidual = 0.2;    // of the amplitude, root mean square; at 8 kHz one sample on the wrong side makes 0.18

// steadiness
inline constexpr double kWanderLag_s = 0.25;
inline constexpr std::size_t kSpeedFrames = 2;  // on each side; faster than flutter
inline constexpr double kInTune_bins = 0.6;     // beyond it the window's slope turns every error in speed into noise
inline constexpr double kAnyTune_bins = 1.2;    // used if too few pairs are in tune, as at 10 kHz with wow of 0.6 %
inline constexpr std::size_t kWanderLeastPairs = 12;
inline constexpr std::size_t kLevelStepTries = 600;
// Held notes of Debian's music samples change by 0.9 dB and more, test tones in noise and crackle by 0.35 dB, at 10 kHz with wow 0.7 dB
// (tests/reference).
inline constexpr double kToneMostWander_db = 0.75;
inline constexpr double kBesideStep_s = 0.4;
inline constexpr double kLevelStep_db = 1.0;  // half of it in the band's mean level; cuts differ by 0.3 dB there (a judgement)
// A worn groove has a tenth, a square wave a third, a sawtooth a half.
inline constexpr double kMostDistortion_percent = 25.0;

// sweep cells
inline constexpr double kSweepEdgeLevel = 0.5;  // share of the level to which it falls at an edge
inline constexpr double kSweepGap_s = 0.15;     // beyond an edge the sweep is not heard for this long
inline constexpr std::size_t kSweepNearFrames = 40;
// Power beside the track over its usual value. Noise reaches this once in a hundred million frames; a click that matters far exceeds it.
inline constexpr double kSweepClickBeside = 25.0;
inline constexpr double kSweepLeastClick = 1e-4;  // of the driven channel; a weaker click does no harm (0.006° in one row)
inline constexpr double kSweepLeastNoise = 1e-5;  // of the driven channel
inline constexpr std::ptrdiff_t kSweepNoiseCells = 4;
inline constexpr double kSweepMostOff = 0.02;        // of the law's frequency; covers wow and the error of the scan's law
inline constexpr double kSweepCell_s = 0.010667;     // length of one row of the fit; a click costs one or two rows
inline constexpr double kSweepMostCells = 3800;      // 40 s of them; a longer sweep has longer rows, as each takes 100 numbers in the fit
inline constexpr std::size_t kSweepLeastCells = 60;  // a sweep with fewer rows is not measured

// sweep listen
inline constexpr double kSweepKnots = 0.0866433976;          // in ln f; eight per octave, for a resonance of Q 3
inline constexpr double kSweepFineKnots = 0.0433216988;      // sixteen per octave, for a resonance of Q 6, if the data demand them
inline constexpr std::ptrdiff_t kSweepFineCells = 200;       // rows; fewer do not show a resonance of Q 6 beside warp
inline constexpr std::ptrdiff_t kSweepFineMostCells = 1800;  // a longer sweep's rows are paired for the fit with fine knots
inline constexpr double kSweepFineMargin = 30.0;             // of the misfit, beside the price of the parameters
inline constexpr double kSweepLeastBend = 1.5e-5;  // crosstalk per knot squared; an ordinary cartridge's is at least that (a judgement)
inline constexpr double kSweepLargestBend = 0.02;  // and no cartridge's is more (a judgement)
inline constexpr double kWarpPrior_deg = 0.3;      // lean of a bad record (a judgement)
inline constexpr double kDoubtful_deg = 0.005;     // standard uncertainty of the warp's amplitude above which a warning is given
inline constexpr double kSureWarp = 3;             // warp is certain if its amplitude exceeds this many of its uncertainties
inline constexpr int kSweepHarmonics = 8;
inline constexpr double kSweepLeanFall = 0.5;  // exponent by which a harmonic's magnitude falls with its order, as for bumps

// sweep passages
inline constexpr double kSweepOffLaw = 0.02;         // of the frequency; covers wow of 0.6 % and smearing of the strongest bin
inline constexpr double kSweepOffLaw_hz = 25.0;      // one bin of the scan
inline constexpr double kSlowestSweep_per_s = 0.05;  // of ln f; an octave in 14 s
inline constexpr double kFastestSweep_per_s = 3.0;   // of ln f; a frame of the scan shows no line of a faster one
inline constexpr std::size_t kSeedFrames = 20;       // one second
inline constexpr std::size_t kSeedStep = 5;
inline constexpr double kSeedShare = 0.7;
inline constexpr double kSweepBridge_s = 0.5;  // covers clicks and a stronger line that passes
inline constexpr double kSweepShortest_s = 2.0;
inline constexpr double kNarrowestSweep = 2.0;       // an octave
inline constexpr double kSweepOnLawShare = 0.75;     // of all frames between first and last
inline constexpr double kSweepGlide = 0.4;           // largest departure from the law's own speed, as a share
inline constexpr double kSweepOneDriveShare = 0.85;  // of the frames on the law must show the same driven channel
inline constexpr double kSweepLowest_hz = 20.0;
inline constexpr int kSweepMostGrowth = 200;
inline constexpr double kLongestFollowed_s = 200.0;  // the slowest logarithmic sweep from 20 Hz to 345 kHz takes 195 s

// sweep track
inline constexpr double kTrackPeriods = 8.0;
inline constexpr double kTrackStray = 0.015;  // covers wow, flutter and the error in speed of the scan's fit
inline constexpr double kTrackStray_hz = 30.0;
inline constexpr double kTrackBeside = 1.5;  // four widths of a window away from the track and from its second harmonic
inline constexpr double kHighestTrackShare = 0.49;
inline constexpr double kTrackLeastWindow_s = 0.001;
inline constexpr double kTrackLargestWindow_s = 0.4;  // eight periods of 20 Hz
inline constexpr double kTrackWindowStep = 1.04;
inline constexpr std::size_t kTrackBlockFrames = 4096;
inline constexpr std::int64_t kMostTrackFrames = 60'000;  // in 200 s one each 3.3 ms, which still resolves a phase that turns at 150 Hz

// third octaves
inline constexpr double kEdgeSlack = 0.01;                       // of a frequency; speed errors move the ends of a sweep
inline constexpr double kHalfThirdOctave = 0.11512925464970229;  // half a band in ln f: ln 10 / 20

// tone spectrum
inline constexpr double kSpectrumFrame_s = 0.0853;  // 4096 samples at 48 kHz; bins of 11.7 Hz separate the harmonics from the noise
inline constexpr double kSpectrumLowest_hz = 40.0;
inline constexpr std::size_t kSpectrumSkirtBins = 8;  // beyond it a Hann line's skirts are 70 dB down
// One third of an octave, base 10: edges at f·10^(±1/20). IEC 61260-1:2014, 5.2 to 5.5 (from memory).
inline const double kBandEdge = std::pow(10.0, 0.05);

// tones: without a tonal frame, twice as long as find_tones bridges; no later frame can then join an earlier one
inline constexpr double kSurelyOver_s = 0.65;

}  // namespace evenwall::internal::measure
