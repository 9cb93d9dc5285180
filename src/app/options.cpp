// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/options.hpp"

#include <fmt/format.h>

#include "app/option_kinds.hpp"
#include "app/solve_options.hpp"
#include "app/usage_suggestion.hpp"
#include "base/ranges.hpp"
#include "base/version.hpp"
#include "evenwall/words.hpp"

namespace evenwall::internal::app {
namespace {

/// The enumeration value with this name. Throws: CLI::ValidationError for any other text.
template <class Value>
Value value_of_word(const std::string& text) {
  if (const auto value = enum_named<Value>(text)) return *value;
  throw CLI::ValidationError(fmt::format("'{}' is not one of: {}", text, enum_list<Value>()));
}

std::vector<Band> bands_of(const std::string& list) {
  std::vector<Band> bands;
  for (const std::string& name : CLI::detail::split(list, ',')) bands.push_back(value_of_word<Band>(name));
  return bands;
}

void declare_measure(CLI::App& root, MeasureCommand& told) {
  CLI::App& command =
      *root.add_subcommand("measure", "Measure recordings: the crosstalk in both directions, phase, balance and quality of each.");
  command.add_option("CAPTURE", told.captures, "recordings of two channels: WAV, RF64, W64, AIFF or FLAC; - for standard input")
      ->required()
      ->type_name("");
  add_number(command, "--tilt-deg", told.tilt_deg, "DEG", "state the tilt: azimuth angle seen from the front, clockwise positive");
  add_number(command, "--tilt-units", told.tilt_units, "X", "state the tilt on a ruler of your own (screw turns, shims)");
  add_number(command, "--tilt-u", told.tilt_u, "X", "state the standard uncertainty of the tilt, in the same unit");
  command.get_option("--tilt-deg")->excludes("--tilt-units");
  command
      .add_option_function<std::string>(
          "--use", [&told](const std::string& text) { told.use = value_of_word<StepUse>(text); },
          "state the use of the recording: " + enum_list<StepUse>(", ", " or "))
      ->type_name("WORD");
  add_path(command, "--session", told.session_path, "FILE", "read frequency, rpm, bands and names from this session.json");
  add_number(command, "--frequency", told.frequency_hz, "HZ", "measure this tone, matched within 5 %");
  add_number(command, "--rpm", told.rpm, "N", "state the speed of the record in turns per minute (found if not stated)");
  command
      .add_option_function<std::string>(
          "--bands", [&told](const std::string& text) { told.bands = bands_of(text); },
          "state the order of the bands on the record, from: " + enum_list<Band>(","))
      ->type_name("LIST");
  command.add_flag("--rejected", told.rejected, "also list rejected tone-like signals, with the reason (standard error)");
  add_path(command, "--append", told.append_path, "FILE", "add the reading to this .jsonl file");
  add_path(command, "--name", told.name, "TEXT", "name the recording on standard input");
  add_path(command, "--keep", told.keep_path, "FILE", "store the audio on standard input in this new file, as it comes");
  add_output(command, told.common, "write to this file instead of to standard output; as JSON if its name ends in .json or .jsonl");
  add_jobs(command, told.jobs);
  add_common(command, told.common);
  command.add_flag("--sha256", told.sha256, "add the SHA-256 of all frames to the reading");
  command.add_flag("--split", told.split, "print rows of steps.csv for the settings that each recording holds")
      ->excludes("--json")
      ->excludes("--append")
      ->excludes("--sha256");
}

void declare_calibrate(CLI::App& root, CalibrateCommand& told) {
  CLI::App& command = *root.add_subcommand("calibrate", "Measure the crosstalk of the electronics behind the cartridge.");
  command.add_option("CAPTURE", told.captures, "recordings of a tone that is injected left only and right only; - for standard input")
      ->required()
      ->type_name("");
  add_output(command, told.common, "write the matrix to this file, for solve --calibration");
  add_jobs(command, told.jobs);
  add_common(command, told.common);
}

void declare_survey(CLI::App& root, SurveyCommand& told, bool& csv) {
  CLI::App& command = *root.add_subcommand("survey", "Separate the results of many solutions into cartridges and records.");
  command.add_option("SOLUTION", told.inputs, "solutions (.json, or .jsonl with one per line) or folders of them; - for standard input")
      ->required()
      ->type_name("");
  add_path(command, "--by", told.grouped_by, "KEY", "compute a mean for each text that the sessions have under this key");
  add_output(command, told.common, "write to this file instead of to standard output; as JSON or CSV if its name ends in .json or .csv");
  add_common(command, told.common);
  command.add_flag("--csv", csv, "write cartridges, records and groups as CSV")->excludes("--json");
}

void declare_report(CLI::App& root, ReportCommand& told) {
  CLI::App& command = *root.add_subcommand("report", "Make a page from a solution or a survey, to view, print or send.");
  command.add_option("DOCUMENT", told.document, "the output of solve --json or survey --json; - for standard input")
      ->required()
      ->type_name("");
  add_output(command, told.common, "write to this file instead of to standard output");
  add_wait(command, told.common);
  command.add_flag("--quiet", told.common.quiet, "write no warnings to standard error");
  command.add_flag("--strict", told.common.strict, "fail the run if the page has no charts");
  command.set_version_flag("--version", std::string(base::kProgram) + " " + base::kVersion);
}

void declare_simulate(CLI::App& root, SimulateCommand& told) {
  CLI::App& command = *root.add_subcommand("simulate", "Simulate a session folder with known true values.");
  command.add_option("--scenario", told.scenario_path, "simulate this scenario (JSON)")->required()->type_name("FILE");
  add_whole_number(
      command, "--seed", std::numeric_limits<std::uint64_t>::max(), [&told](std::uint64_t n) { told.seed = n; },
      "set the random numbers; the same seed gives the same bytes (1)");
  add_path(command, "-o", told.common.output, "FOLDER", "make this folder");
  command.get_option("-o")->required();
  add_common(command, told.common);
}

void declare_new(CLI::App& root, NewCommand& told) {
  CLI::App& command = *root.add_subcommand("new", "Make a session folder with an empty step log that explains its columns.");
  command.add_option("FOLDER", told.folder, "the folder to make; it may exist if it holds no steps.csv and no session.json")
      ->required()
      ->type_name("");
  add_wait(command, told.common);
  command.add_flag("--quiet", told.common.quiet, "write no warnings to standard error");
  command.add_flag("--strict", told.common.strict, "fail the run on any warning");
  command.set_version_flag("--version", std::string(base::kProgram) + " " + base::kVersion);
}

void declare_watch(CLI::App& root, WatchCommand& told) {
  CLI::App& command = *root.add_subcommand("watch", "Watch a session folder: measure each recording when it is finished, and solve.");
  command.add_option("FOLDER", told.folder, "the folder of a session; it may be empty")->required()->type_name("");
  add_number(command, "--tolerance", told.options.tolerance_deg, "DEG", "state the angle within which the azimuth is good enough (0.05)");
  command.add_flag("--bell", told.bell, "ring the bell of the terminal after each new verdict");
  add_jobs(command, told.jobs);
  add_common(command, told.common);
}

Farewell usage_error(const std::string& what) {
  std::string line = what;
  std::replace(line.begin(), line.end(), '\n', ' ');
  return {kExitUsage, "", line + ". See evenwall --help."};
}

/// A usage error if standard input is named twice. CLI11 cannot express this rule.
std::optional<Farewell> read_twice(const std::vector<std::string>& inputs) {
  if (std::count(inputs.begin(), inputs.end(), "-") > 1) return usage_error("standard input (-) can be read only once");
  return std::nullopt;
}

std::optional<Farewell> contradiction(const MeasureCommand& told) {
  if (told.tilt_u && !told.tilt_deg && !told.tilt_units) return usage_error("--tilt-u needs --tilt-deg or --tilt-units");
  const bool reads_stream = std::count(told.captures.begin(), told.captures.end(), "-") > 0;
  if (told.name && !reads_stream) return usage_error("--name needs - among the recordings, for standard input");
  if (told.name && told.name->empty()) return usage_error("--name needs a text");
  if (told.keep_path && !reads_stream) return usage_error("--keep needs - among the recordings, for standard input");
  return read_twice(told.captures);
}

SurveyView survey_view(const CommonOptions& common, bool csv) {
  if (csv) return SurveyView::kCsv;
  if (common.json || is_output_named(common, ".json")) return SurveyView::kJson;
  return is_output_named(common, ".csv") ? SurveyView::kCsv : SurveyView::kText;
}

}  // namespace

bool is_output_named(const CommonOptions& common, std::string_view ending) { return common.output && common.output->ends_with(ending); }

CommandLine parse_command_line(int argc, const char* const* argv) {
  CLI::App root("Find the azimuth at which a phono cartridge reads both groove walls alike.", base::kProgram);
  root.set_version_flag("--version", std::string(base::kProgram) + " " + base::kVersion);
  root.require_subcommand(0, 1);
  root.footer("The glossary (glossary.md in the program's documents) defines every term.");  // the subcommands inherit it
  MeasureCommand measure;
  SolveCommand solve;
  CalibrateCommand calibrate;
  SurveyCommand survey;
  ReportCommand report;
  SimulateCommand simulate;
  bool survey_as_csv = false;
  NewCommand fresh;
  WatchCommand watch;
  declare_measure(root, measure);
  declare_solve(root, solve);
  declare_calibrate(root, calibrate);
  declare_survey(root, survey, survey_as_csv);
  declare_report(root, report);
  declare_simulate(root, simulate);
  declare_new(root, fresh);
  declare_watch(root, watch);
  try {
    root.parse(argc, argv);
  } catch (const CLI::CallForHelp&) {
    const auto chosen = root.get_subcommands();
    return Farewell{kExitAnswered, chosen.empty() ? root.help() : chosen.front()->help(), ""};
  } catch (const CLI::CallForVersion& version) {
    return Farewell{kExitAnswered, std::string(version.what()) + "\n", ""};
  } catch (const CLI::ExtrasError& fault) {
    return usage_error(fault.what() + usage_suggestion(root, argc, argv));
  } catch (const CLI::ParseError& fault) {
    return usage_error(fault.what());
  }
  if (root.got_subcommand("measure")) {
    if (auto wrong = contradiction(measure)) return *wrong;
    const CommonOptions& common = measure.common;
    measure.as_json = common.json || (!measure.split && (is_output_named(common, ".json") || is_output_named(common, ".jsonl")));
    return measure;
  }
  if (root.got_subcommand("solve")) {
    if (auto wrong = read_twice(solve.inputs)) return *wrong;
    solve.view = solution_view(solve);
    return solve;
  }
  if (root.got_subcommand("calibrate")) {
    if (auto wrong = read_twice(calibrate.captures)) return *wrong;
    return calibrate;
  }
  if (root.got_subcommand("survey")) {
    if (auto wrong = read_twice(survey.inputs)) return *wrong;
    survey.view = survey_view(survey.common, survey_as_csv);
    return survey;
  }
  if (root.got_subcommand("report")) return report;
  if (root.got_subcommand("simulate")) return simulate;
  if (root.got_subcommand("new")) return fresh;
  if (root.got_subcommand("watch")) return watch;
  return Farewell{kExitAnswered, root.help(), ""};
}

}  // namespace evenwall::internal::app
