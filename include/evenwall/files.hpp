// SPDX-License-Identifier: GPL-3.0-or-later
// Captures, logs and documents on disk. Documents are written whole or not at all.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "evenwall/model.hpp"
#include "evenwall/simulate.hpp"
#include "evenwall/text_files.hpp"

namespace evenwall {

// ---------------------------------------------------------------- captures

struct OpenedCapture {
  std::unique_ptr<AudioSource> audio;
  Warnings warnings;  ///< truncated, header_not_final, …
};

/// Opens WAV, RF64, W64, AIFF/AIFC or FLAC; two channels; 8 to 768 kHz. Anything else is refused by name before a decoder sees it.
/// Samples come as fractions of full scale. What the header says wrongly and can be put right is in `warnings`.
/// Throws: Error(kInput), the path shown escaped. Source: docs/formats.md, "Captures".
OpenedCapture open_capture(const fs::path& path);

/// Spools a stream (standard input: 0) to an unlinked temporary file and opens that, as open_capture does. The descriptor stays the
/// caller's. Throws: Error(kInput) where it cannot be read, or the temporary folder has no room.
OpenedCapture open_capture_stream(int descriptor);

/// Writes audio as WAV (beyond 4 GiB RF64), whole or not at all. `bits`: 16 or 24 (PCM: rounded to nearest, clipped at full scale) or
/// 32 (float). The same samples give the same bytes. Throws: Error(kInput) for other bits, or where the file cannot be written.
void write_capture(AudioSource& audio, int bits, const fs::path& path);

// ---------------------------------------------------------------- logs

/// A row of a log that cannot be used: the capture it names, if any, and why.
struct BadRow {
  std::string capture;
  ReadingError error;
};
/// The rows of a steps.csv in its order; of those that cannot be used, the first few.
struct StepLog {
  std::vector<std::variant<LogEntry, BadRow>> rows;
  Warnings warnings;  ///< step_unreadable for each bad row, named with its line; notes
};
/// Reads a steps.csv; no capture is opened. A bad row costs that row only.
/// Throws: Error(kInput) with the line where the file as a whole is none: no header, columns missing or twice, too large.
/// Source: docs/formats.md, "steps.csv".
StepLog read_step_log(const fs::path& path);

/// The rows of a meter table: a bad row is a step with an error.
struct MeterTable {
  std::vector<Step> steps;
  Warnings warnings;  ///< as StepLog's
};
/// A meter table: steps whose leaks a voltmeter read (dB, 0 to −150), in size or with phases (degrees), at `frequency_hz`. A bad row costs
/// that row only, and is named with its line. `name`: of the table, for messages.
/// Throws: Error(kInput) where the leaks' or the tilt's column is missing, or there is no row. Source: docs/formats.md, "Meter tables".
MeterTable meter_table_from_csv(std::string_view text, const std::string& name, double frequency_hz);

struct SessionFile {
  SessionFacts facts;
  Warnings warnings;  ///< unknown_key
};
/// Reads a session.json: degrees, millimetres, decibels and hertz as the keys say.
/// Throws: Error(kInput) with the line or key for broken JSON, a wrong type, a repeated key or a number out of range.
SessionFile read_session_file(const fs::path& path);

// ---------------------------------------------------------------- documents

// Each document is one line of UTF-8 without a newline, keys as in model.hpp, numbers with as many digits as bring them back; the same
// value gives the same bytes. What is absent, and what is no finite number, is null.

std::string to_json(const Reading& reading);                                                     ///< evenwall/reading/1
std::string to_json(const Solution& solution);                                                   ///< evenwall/solution/1
std::string to_json(const Calibration& calibration);                                             ///< evenwall/calibration/1
std::string to_json(const Survey& survey);                                                       ///< evenwall/survey/1
std::string to_json(const SimulatedTruth& truth, const Scenario& scenario, std::uint64_t seed);  ///< evenwall/truth/1

/// session.json: one key a line, ending in a newline.
std::string session_text(const SessionFacts& facts);

// Read back: unknown keys are passed over, `name` is for messages, and Error(kInput) names the key or the line.

/// Readings, one document a line; a line that a crash tore gives a reading with its error set. `name` is for messages. Throws:
/// Error(kInput) with the line. Unknown keys are ignored.
std::vector<Reading> readings_from_jsonl(std::string_view text, const std::string& name);
/// The same in two steps, for who reads lines side by side: the lines that hold something, views of `text`, and what one of them says.
struct ReadingLine {
  std::string_view text;
  int number = 0;  ///< from 1
};
std::vector<ReadingLine> reading_lines(std::string_view text);
Reading reading_from_line(const ReadingLine& line, const std::string& name);
/// What the document lacks of the answer stays NaN, and is shown and written as absent. Throws: Error(kInput) without `least_crosstalk`.
Solution solution_from_json(std::string_view text, const std::string& name);
/// What a survey takes of a solution, the rest passed over unread. `grouped_by`: the session's key whose text becomes the group.
/// Throws: Error(kInput) with the key that is missing or of the wrong kind.
ArchivedSolution archived_solution_from_json(std::string_view text, const std::string& name, const std::optional<std::string>& grouped_by);
/// A solution that holds all a page rests on, so that no default passes for a result. Throws: Error(kInput) with the key that is missing.
Solution full_solution_from_json(std::string_view text, const std::string& name);
/// Throws: Error(kInput) with the key for a diagonal that is not 1, an off-diagonal element of 0.9 or more, a negative uncertainty,
/// frequencies that don't ascend, or no point at all.
Calibration calibration_from_json(std::string_view text, const std::string& name);
/// Throws: Error(kInput) with the key that is missing or of the wrong kind.
Survey survey_from_json(std::string_view text, const std::string& name);
/// A survey that holds all a page rests on. Throws: Error(kInput) with the key that is missing.
Survey full_survey_from_json(std::string_view text, const std::string& name);
/// The key `schema` of a document, or nothing where it has none. Throws: Error(kInput) for broken JSON.
std::optional<std::string> schema_of(std::string_view text, const std::string& name);
/// Throws: Error(kInput) with the key, unknown ones too: a misspelt fault would else be simulated as none.
Scenario scenario_from_json(std::string_view text, const std::string& name);

/// The names of the files that write_simulated_session writes: steps.csv, session.json, truth.json, step-01.wav …
std::vector<std::string> simulated_session_files(const SimulatedSession& session);

/// Writes captures (step-01.wav …), steps.csv, session.json and truth.json of a simulated session into `folder`, which is made where it
/// is missing. Throws: Error(kInput) if one exists already or cannot be written; what was made is then removed again.
void write_simulated_session(const SimulatedSession& session, std::uint64_t seed, const fs::path& folder);

}  // namespace evenwall
