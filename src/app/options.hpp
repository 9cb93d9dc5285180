// SPDX-License-Identifier: GPL-3.0-or-later
// Parses the command line into structs. Parsing opens no file.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "evenwall/model.hpp"

namespace evenwall::internal::app {

inline constexpr int kExitAnswered = 0;
inline constexpr int kExitNoAnswer = 1;
inline constexpr int kExitUsage = 2;

inline constexpr int kStandardInput = 0;                    ///< descriptor
inline constexpr std::size_t kMostText_bytes = 64U << 20U;  ///< largest log, file of readings or document

struct CommonOptions {
  bool json = false;
  bool quiet = false;
  bool strict = false;
  std::optional<std::string> output;
  OptionalNumber wait_s;  ///< limit of each wait for another program; absent: the default
};

struct MeasureCommand {
  CommonOptions common;
  std::vector<std::string> captures;  ///< paths, or "-" for standard input
  OptionalNumber tilt_deg, tilt_units, tilt_u;
  StepUse use = StepUse::kYes;
  std::optional<std::string> session_path;
  OptionalNumber frequency_hz, rpm;
  std::vector<Band> bands;
  std::optional<std::string> append_path;
  std::optional<std::string> name;       ///< of the recording on standard input
  std::optional<std::string> keep_path;  ///< new file for the audio on standard input
  bool as_json = false;                  ///< --json, or an output that is named as a JSON document
  bool split = false;                    ///< print the rows of a log for the settings in each recording
  bool sha256 = false;                   ///< add the SHA-256 of the frames to each reading
  bool rejected = false;                 ///< also list the tone-like stretches that were rejected
  int jobs = 0;                          ///< 0: one for each processor
};

enum class SolutionView { kBrief, kFull, kFullWithChart, kJson, kTable, kCsv, kStepsCsv };

struct SolveCommand {
  CommonOptions common;
  std::vector<std::string> inputs;
  SolveOptions options;
  std::optional<std::string> record_correction_path;
  SolutionView view = SolutionView::kBrief;
  bool sha256 = false;  ///< add the SHA-256 of the frames to each step that is measured
  int jobs = 0;
};

struct CalibrateCommand {
  CommonOptions common;
  std::vector<std::string> captures;  ///< paths, or "-" for standard input
  int jobs = 0;
};

struct ReportCommand {
  CommonOptions common;
  std::string document;  ///< path, or "-" for standard input
};

struct SimulateCommand {
  CommonOptions common;  ///< output: the folder
  std::string scenario_path;
  std::uint64_t seed = 1;
};

enum class SurveyView { kText, kJson, kCsv };

struct SurveyCommand {
  CommonOptions common;
  std::vector<std::string> inputs;  ///< files, folders, or "-" for standard input
  std::optional<std::string> grouped_by;
  SurveyView view = SurveyView::kText;
};

struct NewCommand {
  CommonOptions common;
  std::string folder;
};

struct WatchCommand {
  CommonOptions common;
  std::string folder;
  SolveOptions options;
  bool bell = false;  ///< ring the bell of the terminal after each new verdict
  int jobs = 0;
};

/// The text to write before the program ends: help, the version, or the error in the command line.
struct Farewell {
  int exit_status = kExitAnswered;
  std::string out;
  std::string complaint;
};

using CommandLine = std::variant<Farewell, MeasureCommand, SolveCommand, CalibrateCommand, SurveyCommand, ReportCommand, SimulateCommand,
                                 NewCommand, WatchCommand>;

/// Whether there is an output file and its name has this ending: such a file gets a document of this kind without a flag.
bool is_output_named(const CommonOptions& common, std::string_view ending);

CommandLine parse_command_line(int argc, const char* const* argv);

}  // namespace evenwall::internal::app
