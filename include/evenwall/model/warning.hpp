// SPDX-License-Identifier: GPL-3.0-or-later
// Holds warnings. A warning has a code with a fixed meaning, and a message with the numbers. docs/warnings.md explains each code.
#pragma once

#include <string>
#include <vector>

namespace evenwall {

enum class WarningCode {
  // Warnings about a capture
  kTruncated,
  kHeaderNotFinal,
  kSkippedBytes,
  kNotFinite,
  kMissingPassage,
  kFrequencyChosen,
  kClipped,
  kLowSignal,
  kNoisy,
  kDropout,
  kSamplesLost,
  kChannelsSlipped,
  kLevelStep,
  kQuantised,
  kDcOffset,
  kHum,
  kUnevenSpeed,
  kShortPassage,
  kSpeedFound,
  kWarpOrResonance,
  kLowSeparation,
  kSwappedOrReversed,
  kPolarityReversed,
  kSeveralSettings,
  // Warnings about a log, a session file or an input
  kUnknownKey,
  kDuplicateRow,
  kDuplicateReading,
  kSameRecording,
  kStepUnreadable,
  kUnitSuspect,
  kSessionDiffers,
  kCaptureUnreadable,
  kCalibrationFromRecord,
  kJoined,
  kRecordNotSurveyed,
  // Warnings about a solution
  kStepOff,
  kLeaksOff,
  kStepsContradict,
  kScaleOff,
  kCompressed,
  kGaugeAssumed,
  kGaugeUnderstated,
  kFewSteps,
  kTiltNotLogged,
  kDirectionUnknown,
  kExtrapolated,
  kNotVerified,
  kVerificationFailed,
  kSizesOnly,
  kLevelMismatch,
  kCriteriaDisagree,
  kBeyondContactLimit,
  kBalanceMovesWithTilt,
  kDistortionMovesWithTilt,
  kDrift,
  kBacklash,
  kErrorsAddUp,
  kRowsExchanged,
  kRecordingsDiffer,
  kBentResponse,
  kAimNotMet,
  kNoReachableSetting,
  // Warnings about a survey
  kSolutionUnreadable,
  kPassedOver,
  kIncompleteSolution,
  kDuplicateSolution,
  kSolutionOff,
  kOneCartridge,
  kOneRecord,
  kCartridgesConfounded,
  kRecordsConfounded,
  kDisconnected,
  // Warnings in a document that another version wrote
  kOther,  ///< the message contains the code
};

struct Warning {
  WarningCode code = WarningCode::kOther;
  std::string message;
};
using Warnings = std::vector<Warning>;

}  // namespace evenwall
