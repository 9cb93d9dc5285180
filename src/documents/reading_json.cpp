// SPDX-License-Identifier: GPL-3.0-or-later
// Writes and reads evenwall/reading/1.
#include <fmt/format.h>

#include <charconv>
#include <cmath>

#include "documents/json_values.hpp"
#include "documents/sha256_text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::documents {

template <typename Field>
void describe(Field& field, Like<ReadingError>) {
  field("code", &ReadingError::code);
  field("message", &ReadingError::message);
}

template <typename Field>
void describe(Field& field, Like<AudioInfo>) {
  field("sample_rate_hz", &AudioInfo::sample_rate_hz);
  field("channels", &AudioInfo::channels);
  field("duration_s", &AudioInfo::duration_s);
  field("encoding", &AudioInfo::encoding);
  field("sha256", &AudioInfo::sha256);
}

template <typename Field>
void describe(Field& field, Like<Passage>) {
  field("kind", &Passage::kind);
  field("driven", &Passage::driven);
  field("relation", &Passage::relation);
  field("start_s", &Passage::start_s);
  field("end_s", &Passage::end_s);
  field("frequency_hz", &Passage::frequency_hz);
  field("frequency_from_hz", &Passage::frequency_from_hz);
  field("frequency_to_hz", &Passage::frequency_to_hz);
  field("level_left_dbfs", &Passage::level_left_dbfs);
  field("level_right_dbfs", &Passage::level_right_dbfs);
  field("snr_db", &Passage::snr_db);
  field("distortion_percent", &Passage::distortion_percent);
  field("third_harmonic_percent", &Passage::third_harmonic_percent);
  field("wow_percent", &Passage::wow_percent);
}

template <typename Field>
void describe(Field& field, Like<Leak>) {
  field("db", &Leak::db);
  field("phase_deg", &Leak::phase_deg);
  field("re", &Leak::re);
  field("im", &Leak::im);
  field("same_passage", &Leak::same_passage);
  field("u_re", &Leak::u_re);
  field("u_im", &Leak::u_im);
  field("band_db", &Leak::band_db);
}

template <typename Field>
void describe(Field& field, Like<LeakPair>) {
  field("frequency_hz", &LeakPair::frequency_hz);
  field("right_into_left", &LeakPair::right_into_left);
  field("left_into_right", &LeakPair::left_into_right);
}

template <typename Field>
void describe(Field& field, Like<LogEntry>) {
  field("capture", &LogEntry::capture);
  field("tilt_deg", &LogEntry::tilt_deg);
  field("tilt_units", &LogEntry::tilt_units);
  field("tilt_u", &LogEntry::tilt_u);
  field("use", &LogEntry::use);
}

template <typename Field>
void describe(Field& field, Like<Measurement>) {
  field("audio", &Measurement::audio);
  field("passages", &Measurement::passages);
  field("crosstalk", &Measurement::crosstalk);
  field("crosstalk_spectrum", &Measurement::crosstalk_spectrum);
  field("balance_db", &Measurement::balance_db);
  field("u_balance_db", &Measurement::u_balance_db);
  field("interchannel_phase_deg", &Measurement::interchannel_phase_deg);
  field("rotation_deg", &Measurement::rotation_deg);
  field("shear_db", &Measurement::shear_db);
  field("warp_deg", &Measurement::warp_deg);
  field("warnings", &Measurement::warnings);
}

Json json_of(const ComplexEstimate& estimate) {
  Json object = json_of(estimate.value);
  put_member(object, "u_re", json_of(estimate.u_re));
  put_member(object, "u_im", json_of(estimate.u_im));
  put_member(object, "correlation", json_of(estimate.correlation));
  put_member(object, "u_groove", json_of(estimate.u_groove));
  if (estimate.rms_in_third_octave > 0) put_member(object, "rms_in_third_octave", json_of(estimate.rms_in_third_octave));
  return object;
}

/// Everything else is computed from these numbers, so all of them must be present, also the uncertainties.
void read_json(const Json& value, const Place& place, Strictness, ComplexEstimate& out) {
  if (!value.is_object()) place.refuse_type(value, "an object");
  const auto number = [&](const char* key) {
    const Json* const at = find_member(value, key);
    if (at == nullptr) (place / std::string_view(key)).refuse("is missing. Measure the recording again.");
    return number_at(*at, place / std::string_view(key));
  };
  const auto number_or_zero = [&](const char* key) { return find_member(value, key) != nullptr ? number(key) : 0.0; };
  // Readings from before method version 3 do not have the first. Tones do not have the second.
  out = {{number("re"), number("im")},         number("u_re"), number("u_im"), number("correlation"), number_or_zero("u_groove"),
         number_or_zero("rms_in_third_octave")};
}

namespace {

void require_crosstalk(const Json& document, const Place& place) {
  const Json* const at = find_member(document, "crosstalk");
  if (at == nullptr) place.refuse("the reading has no key \"crosstalk\". Measure the recording again.");
  if (!at->is_object()) (place / "crosstalk").refuse_type(*at, "an object");
  const auto has_frequency = [](const Json& pair) {
    const Json* const frequency = find_member(pair, "frequency_hz");
    return frequency != nullptr && frequency->is_number();
  };
  if (!has_frequency(*at)) (place / "crosstalk/frequency_hz").refuse("is missing. Measure the recording again.");
  const Json* const pairs = find_member(document, "crosstalk_spectrum");
  if (pairs == nullptr) return;
  if (!pairs->is_array()) (place / "crosstalk_spectrum").refuse_type(*pairs, "a list");
  for (std::size_t i = 0; i < pairs->size(); ++i) {
    if (!has_frequency((*pairs)[i])) {
      (place / "crosstalk_spectrum" / i).refuse("has no frequency_hz. Measure the recording again.");
    }
  }
}

void require_leaks(const Json& pair, const Place& place) {
  for (const char* side : {"right_into_left", "left_into_right"}) {
    const Json* const at = find_member(pair, side);
    if (at != nullptr && at->is_object() && find_member(*at, "same_passage") == nullptr)
      (place / std::string_view(side)).refuse("has no same_passage. Measure the recording again.");
  }
}

/// A name that is not UTF-8 is written with replaced bytes; this adds its exact bytes beside it.
void add_exact_name(Json& document, const std::string& name) {
  if (is_utf8(name)) return;
  std::string hex;
  for (const char c : name) hex += fmt::format("{:02x}", static_cast<unsigned char>(c));
  put_member(document, "capture_hex", hex);
}

/// Takes the name's exact bytes if the document has them.
void take_exact_name(const Json& document, const Place& place, std::string& name) {
  const Json* const at = find_member(document, "capture_hex");
  if (at == nullptr || at->is_null()) return;
  std::string hex;
  read_json(*at, place / "capture_hex", Strictness::kReadBack, hex);
  std::string bytes(hex.size() / 2, '\0');
  for (std::size_t i = 0; i < bytes.size(); ++i) {
    unsigned value = 0;
    const char* two = hex.data() + 2 * i;
    if (std::from_chars(two, two + 2, value, 16).ptr != two + 2)
      (place / "capture_hex").refuse("is not hexadecimal as this program writes it. Measure the recording again.");
    bytes[i] = static_cast<char>(value);
  }
  if (hex.size() % 2 != 0 || bytes.find('\0') != std::string::npos)
    (place / "capture_hex").refuse("is not hexadecimal as this program writes it. Measure the recording again.");
  name = bytes;
}

/// An unknown code, which a later version may have, is kept in the message.
ReadingError error_from_json(const Json& value, const Place& place) {
  if (!value.is_object()) place.refuse_type(value, "an object");
  const CodedText told = coded_text(value, place);
  const auto ours = enum_named<ReadingFault>(told.code);
  return {ours.value_or(ReadingFault::kUnreadable), ours ? told.message : told.whole()};
}

Reading reading_from_json(const Json& document, const Place& place) {
  require_schema(document, place, "reading", SchemaKey::kRequired);
  const Json* const capture = find_member(document, "capture");
  if (capture == nullptr) place.refuse("the reading has no key \"capture\". Measure the recording again.");
  LogEntry log;
  if (const Json* const error = find_member(document, "error"); error != nullptr && !error->is_null()) {
    read_json(*capture, place / "capture", Strictness::kReadBack, log.capture);
    ReadingError why = error_from_json(*error, place / "error");
    take_exact_name(document, place, log.capture);
    return {{std::move(log), std::move(why)}, std::nullopt};
  }
  require_crosstalk(document, place);
  require_leaks(*find_member(document, "crosstalk"), place / "crosstalk");
  if (const Json* const pairs = find_member(document, "crosstalk_spectrum"); pairs != nullptr) {
    for (std::size_t i = 0; i < pairs->size(); ++i) require_leaks((*pairs)[i], place / "crosstalk_spectrum" / i);
  }
  read_json(document, place, Strictness::kReadBack, log);
  std::optional<SessionFacts> session;
  if (const Json* const facts = find_member(document, "session"); facts != nullptr) {
    read_json(*facts, place / "session", Strictness::kReadBack, session);
  }
  Measurement measurement;
  read_json(document, place, Strictness::kReadBack, measurement);
  if (measurement.audio.sha256) require_sha256(*measurement.audio.sha256, 1, place / "audio" / "sha256");
  take_exact_name(document, place, log.capture);
  return {{std::move(log), std::move(measurement)}, std::move(session)};
}

Reading unreadable(const std::string& capture, const std::string& message) {
  return {{LogEntry{.capture = capture}, ReadingError{ReadingFault::kStepUnreadable, message}}, std::nullopt};
}

Reading reading_of_line(std::string_view line, const std::string& where) {
  auto document = parse_untorn_json(line, where);
  // A line that a crash cut off excludes only its own step, and so does a number out of range.
  if (!document) return unreadable("", where + ": the line was cut off by a crash. Measure that recording again.");
  try {
    return reading_from_json(*document, {where, "", "reading"});
  } catch (const OutOfRange& fault) {
    const Json& capture = *find_member(*document, "capture");  // which was found before any number
    return unreadable(capture.is_string() ? capture.get<std::string>() : "", fault.what());
  }
}

}  // namespace
}  // namespace evenwall::internal::documents

namespace evenwall {

std::string to_json(const Reading& reading) {
  using namespace internal::documents;
  const LogEntry& log = reading.step.log;
  Json document = new_document("reading");
  if (const ReadingError* error = reading.step.error()) {
    put_member(document, "capture", log.capture);
    add_exact_name(document, log.capture);
    put_member(document, "error", json_of(*error));
    return json_line(document);
  }
  put_member(document, "made_by", made_by());
  document.update(json_of(log));
  put_member(document, "session", json_of(reading.session));
  document.update(json_of(*reading.step.measurement()));
  if (!reading.step.measurement()->audio.sha256) document["audio"].erase("sha256");
  add_exact_name(document, log.capture);
  return json_line(document);
}

std::vector<ReadingLine> reading_lines(std::string_view text) {
  std::vector<ReadingLine> lines;
  for (int number = 1; !text.empty(); ++number) {
    const std::string_view document = text.substr(0, text.find('\n'));
    text.remove_prefix(std::min(document.size() + 1, text.size()));
    const bool first_mark = number == 1 && document.starts_with("\xef\xbb\xbf");
    if (document.find_first_not_of(" \t\r", first_mark ? 3 : 0) != std::string_view::npos) lines.push_back({document, number});
  }
  return lines;
}

Reading reading_from_line(const ReadingLine& line, const std::string& name) {
  return internal::documents::reading_of_line(line.text, fmt::format("{}:{}", name, line.number));
}

std::vector<Reading> readings_from_jsonl(std::string_view text, const std::string& name) {
  std::vector<Reading> readings;
  for (const ReadingLine& line : reading_lines(text)) readings.push_back(reading_from_line(line, name));
  return readings;
}

}  // namespace evenwall
