// SPDX-License-Identifier: GPL-3.0-or-later
// Reads and writes captures, logs and documents. A document is written whole or not at all.
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

/// Opens WAV, RF64, W64, AIFF/AIFC or FLAC; two channels; 8 to 768 kHz. Every other format is refused, with its name in
/// the message, before any decoder reads it. Samples are fractions of full scale. `warnings` lists the errors of the header that could be
/// corrected. Throws: Error(kInput), with the path escaped. Source: docs/formats.md, "Captures".
OpenedCapture open_capture(const fs::path& path);

/// Spools a stream (standard input: 0) to an unlinked temporary file and opens that file as open_capture does. The caller keeps
/// the descriptor. Throws: Error(kInput) if the stream cannot be read, or the temporary folder has no room.
OpenedCapture open_capture_stream(int descriptor);

/// SHA-256 (FIPS 180-4) over all frames of a recording, as 64 lower-case hexadecimal digits. The samples of a source that open_capture or
/// open_capture_stream has opened are hashed exactly as the file holds them; the samples of any other source as 32-bit floats. Reads the
/// whole recording once, in blocks. Throws: Error(kInput) if the medium fails, or if the file has changed since it was opened.
/// Source: docs/formats.md, "SHA-256 of the frames".
std::string sha256_of_frames(AudioSource& source);

/// Writes audio as WAV (beyond 4 GiB RF64), whole or not at all. `bits`: 16 or 24 (PCM: rounded to nearest, clipped at full scale) or
/// 32 (float). The same samples give the same bytes. Throws: Error(kInput) for any other `bits`, or if the file cannot be written.
void write_capture(AudioSource& audio, int bits, const fs::path& path);

// ---------------------------------------------------------------- logs

/// A row of a log that cannot be used, with the capture that it names, if any, and the reason.
struct BadRow {
  std::string capture;
  ReadingError error;
};
/// The rows of a steps.csv in the file's order. Of the rows that cannot be used, only the first few are kept.
struct StepLog {
  std::vector<std::variant<LogEntry, BadRow>> rows;
  Warnings warnings;  ///< step_unreadable with the line number for each of these bad rows; notes
};
/// Reads a steps.csv and opens no capture. A bad row excludes only itself.
/// Throws: Error(kInput) with the line if the whole file cannot be used: no header, a missing or repeated column, too large.
/// Source: docs/formats.md, "steps.csv".
StepLog read_step_log(const fs::path& path);

/// The rows of a meter table. A bad row becomes a step with an error.
struct MeterTable {
  std::vector<Step> steps;
  Warnings warnings;  ///< as in StepLog
};
/// Reads a meter table: steps at which a voltmeter measured the crosstalk (dB, 0 to −150) at `frequency_hz`, as magnitudes or with phases
/// (degrees). A bad row excludes only itself, and a warning gives its line. `name`: the table's name, for messages.
/// Throws: Error(kInput) if a crosstalk or tilt column is missing, or there is no row. Source: docs/formats.md, "Meter tables".
MeterTable meter_table_from_csv(std::string_view text, const std::string& name, double frequency_hz);

struct SessionFile {
  SessionFacts facts;
  Warnings warnings;  ///< unknown_key
};
/// Reads a session.json. The names of the keys give the units: degrees, millimetres, decibels, hertz.
/// Throws: Error(kInput) with the line or key for broken JSON, a wrong type, a repeated key or a number out of range.
SessionFile read_session_file(const fs::path& path);

// ---------------------------------------------------------------- documents

// Each document is one line of UTF-8 without a newline. Keys are named as in model.hpp. Numbers have as many digits as are needed to read
// back the same value. The same value gives the same bytes. An absent value and a number that is not finite are written as null.

std::string to_json(const Reading& reading);                                                     ///< evenwall/reading/1
std::string to_json(const Solution& solution);                                                   ///< evenwall/solution/1
std::string to_json(const Calibration& calibration);                                             ///< evenwall/calibration/1
std::string to_json(const Survey& survey);                                                       ///< evenwall/survey/1
std::string to_json(const SimulatedTruth& truth, const Scenario& scenario, std::uint64_t seed);  ///< evenwall/truth/1

/// The text of a session.json: one key per line, with a newline at the end.
std::string session_text(const SessionFacts& facts);

// Functions that read documents back. Unknown keys are ignored, `name` is for messages, and Error(kInput) names the key or the line.

/// Reads readings, one document per line. A line that a crash has cut off gives a reading with its error set. `name` is for messages.
/// Unknown keys are ignored. Throws: Error(kInput) with the line.
std::vector<Reading> readings_from_jsonl(std::string_view text, const std::string& name);
/// The same in two steps, for callers that read lines in parallel: first the lines that are not empty, as views of `text`, then the
/// reading of one line.
struct ReadingLine {
  std::string_view text;
  int number = 0;  ///< from 1
};
std::vector<ReadingLine> reading_lines(std::string_view text);
Reading reading_from_line(const ReadingLine& line, const std::string& name);
/// Numbers of the answer that the document lacks stay NaN, and are shown and written as absent.
/// Throws: Error(kInput) if `least_crosstalk` is missing.
Solution solution_from_json(std::string_view text, const std::string& name);
/// Reads only the values of a solution that a survey uses. `grouped_by`: the key of the session; its text becomes the group.
/// Throws: Error(kInput) with the key that is missing or of the wrong kind.
ArchivedSolution archived_solution_from_json(std::string_view text, const std::string& name, const std::optional<std::string>& grouped_by);
/// Reads a solution and requires every value that a page shows, so that no default is mistaken for a result.
/// Throws: Error(kInput) with the key that is missing.
Solution full_solution_from_json(std::string_view text, const std::string& name);
/// Throws: Error(kInput) with the key for a diagonal that is not 1, an off-diagonal element of 0.9 or more, a negative uncertainty,
/// frequencies that do not ascend, or a calibration without points.
Calibration calibration_from_json(std::string_view text, const std::string& name);
/// Throws: Error(kInput) with the key that is missing or of the wrong kind.
Survey survey_from_json(std::string_view text, const std::string& name);
/// Reads a survey and requires every value that a page shows. Throws: Error(kInput) with the key that is missing.
Survey full_survey_from_json(std::string_view text, const std::string& name);
/// The value of the key `schema` of a document, or std::nullopt if it has none. Throws: Error(kInput) for broken JSON.
std::optional<std::string> schema_of(std::string_view text, const std::string& name);
/// Throws: Error(kInput) with the key. Unknown keys are refused too, because a misspelt fault would otherwise not be simulated.
Scenario scenario_from_json(std::string_view text, const std::string& name);

/// The names of the files that write_simulated_session writes: steps.csv, session.json, truth.json, step-01.wav …
std::vector<std::string> simulated_session_files(const SimulatedSession& session);

/// Writes captures (step-01.wav …), steps.csv, session.json and truth.json of a simulated session into `folder`, which is created if it
/// is missing. Throws: Error(kInput) if one of the files exists already or cannot be written. The files written so far are then removed.
void write_simulated_session(const SimulatedSession& session, std::uint64_t seed, const fs::path& folder);

}  // namespace evenwall
