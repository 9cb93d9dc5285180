// SPDX-License-Identifier: GPL-3.0-or-later
// Warnings: a code that never changes its meaning, and a message with the numbers. docs/warnings.md explains each code.
#pragma once

#include <string>
#include <vector>

namespace evenwall {

enum class WarningCode {
  // Of a capture
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
  // Of a log, a session file, an input
  kUnknownKey,
  kDuplicateRow,
  kDuplicateReading,
  kSameRecording,
  kStepUnreadable,
  kUnitSuspect,
  kSessionDiffers,
  kCaptureUnreadable,
  kRecordNotSurveyed,
  // Of a solution
  kStepOff,
  kLeaksOff,
  kStepsContradict,
  kScaleOff,
  kGaugeAssumed,
  kGaugeUnderstated,
  kFewSteps,
  kExtrapolated,
  kNotVerified,
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
  // Of a survey
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
  // Of a document that another version wrote
  kOther,  ///< the message has the code
};

struct Warning {
  WarningCode code = WarningCode::kOther;
  std::string message;
};
using Warnings = std::vector<Warning>;

}  // namespace evenwall
