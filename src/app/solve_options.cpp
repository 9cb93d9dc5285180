// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/solve_options.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <string_view>

#include "app/option_kinds.hpp"
#include "base/ranges.hpp"
#include "evenwall/words.hpp"

namespace evenwall::internal::app {
namespace {

struct View {
  const char* flag;
  SolutionView view;
  const char* what;
};
constexpr std::array<View, 5> kViews{{{"--full", SolutionView::kFull, "show all: criteria, steps, uncertainty budget and cautions"},
                                      {"--chart", SolutionView::kFullWithChart, "show all, and draw crosstalk against tilt below the text"},
                                      {"--table", SolutionView::kTable, "write one line for each session"},
                                      {"--csv", SolutionView::kCsv, "write one line for each session, as CSV"},
                                      {"--steps-csv", SolutionView::kStepsCsv, "write the steps of each session as CSV"}}};

constexpr std::array<std::string_view, 3> kDashes{"\xe2\x80\x93", "\xe2\x88\x92", "\xe2\x80\x90"};  // U+2013, U+2212, U+2010

/// Without blanks, in lower case, and with the hyphens that keyboards and documents offer as "-".
std::string plain_word(const std::string& text) {
  std::string word;
  for (std::size_t at = 0; at < text.size();) {
    const std::string_view rest = std::string_view(text).substr(at);
    const auto dash = std::find_if(kDashes.begin(), kDashes.end(), [&](std::string_view d) { return rest.starts_with(d); });
    if (dash != kDashes.end()) {
      word += '-';
      at += dash->size();
      continue;
    }
    const char c = text[at++];
    if (c != ' ' && c != '\t') word += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  }
  return word;
}

/// A word of the table of words.
template <typename E>
CLI::Option* add_word(CLI::App& command, const std::string& flag, std::optional<E>& target, const std::string& type,
                      const std::string& what) {
  const auto parse = [&target, flag](const std::string& text) {
    target = enum_named<E>(plain_word(text));
    if (target) return;
    std::string words;
    for (const auto& [value, word] : kNamesOf<E>) words += (words.empty() ? "" : ", ") + std::string(word);
    throw CLI::ValidationError(fmt::format("{}: '{}' is unknown. Write one of {}", flag, text, words));
  };
  return command.add_option_function<std::string>(flag, parse, what)->type_name(type);
}

/// Two frequencies with a hyphen between them, the lower one first.
BandLimits band_of(const std::string& text) {
  const std::string word = plain_word(text);
  const std::size_t hyphen = word.find('-');
  BandLimits limits;
  const auto read = [](std::string_view part, double& hz) {
    const auto [end, fault] = std::from_chars(part.data(), part.data() + part.size(), hz);
    return fault == std::errc() && end == part.data() + part.size() && base::in_range(base::range_of("flag", "--frequency"), hz);
  };
  const std::string_view all = word;
  if (hyphen == std::string::npos || !read(all.substr(0, hyphen), limits.from_hz) || !read(all.substr(hyphen + 1), limits.to_hz) ||
      !(limits.from_hz < limits.to_hz)) {
    throw CLI::ValidationError(
        fmt::format("--band: '{}' is not a band. Write two frequencies from 10 to 100000 Hz with a hyphen between them, the lower one "
                    "first, for example 100-10000",
                    text));
  }
  return limits;
}

void add_aim(CLI::App& command, SolveOptions& options) {
  add_word(command, "--aim", options.aim, "AIM", "recommend the azimuth of equal, least, phase or band");
  command
      .add_option_function<std::string>(
          "--band", [&options](const std::string& text) { options.band = band_of(text); },
          "count the frequencies of this band only, for example 100-10000")
      ->type_name("BAND");
  add_word(command, "--weighting", options.weighting, "WEIGHTING",
           "weight the frequencies of the band by flat or a, the A-weighting (flat)");
}

}  // namespace

void declare_solve(CLI::App& root, SolveCommand& told) {
  CLI::App& command = *root.add_subcommand("solve", "Compute the recommended azimuth from a session.");
  command
      .add_option("INPUT", told.inputs,
                  "session folders, step logs or meter tables (.csv), or readings (.jsonl); - for readings on standard input")
      ->required()
      ->type_name("");
  SolveOptions& o = told.options;
  add_number(command, "--frequency", o.frequency_hz, "HZ", "solve at this tone, matched within 5 %");
  add_number(command, "--gauge-u", o.gauge_u_deg, "DEG", "state the standard uncertainty of a tilt (azimuth angle) as set");
  add_number(command, "--gauge-zero-u", o.gauge_zero_u_deg, "DEG", "state the standard uncertainty of the gauge's zero");
  add_number(command, "--record-u", o.record_u_deg, "DEG", "state the standard uncertainty of the record's cutting azimuth and dish");
  add_number(command, "--tilt-limit", o.tilt_limit_deg, "DEG", "state how far the stylus may tilt to either side");
  add_number(command, "--from-tilt", o.from_tilt_deg, "DEG", "count the turn from this tilt, not from the last recording");
  add_path(command, "--calibration", o.calibration_path, "FILE", "correct for the electronics by this matrix, made by calibrate");
  add_path(command, "--record-correction", told.record_correction_path, "SURVEY",
           "correct for the record's cutting-azimuth error, as a survey found it");
  command.get_option("--record-correction")->excludes("--record-u");
  add_output(command, told.common, "write to this file instead of to standard output; as JSON or CSV if its name ends in .json or .csv");
  add_jobs(command, told.jobs);
  add_common(command, told.common);
  add_number(command, "--tolerance", o.tolerance_deg, "DEG", "state the angle within which the azimuth is good enough (0.05)");
  add_aim(command, o);
  command.add_flag("--sha256", told.sha256, "add the SHA-256 of all frames of each recording that is measured");
  for (const View& view : kViews) {
    auto* flag = command.add_flag_callback(
        view.flag, [&told, &view] { told.view = view.view; }, view.what);
    flag->excludes("--json");
    for (const View& before : kViews) {
      if (&before == &view) break;
      flag->excludes(before.flag);
    }
  }
}

SolutionView solution_view(const SolveCommand& told) {
  if (told.common.json) return SolutionView::kJson;
  if (told.view != SolutionView::kBrief) return told.view;  // a flag takes precedence over the name of the output
  if (is_output_named(told.common, ".json") || is_output_named(told.common, ".jsonl")) return SolutionView::kJson;
  return is_output_named(told.common, ".csv") ? SolutionView::kCsv : SolutionView::kBrief;
}

}  // namespace evenwall::internal::app
