// SPDX-License-Identifier: GPL-3.0-or-later
#include "documents/target_check.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cerrno>
#include <optional>
#include <set>
#include <string_view>

#include "base/magic_bytes.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::documents {
namespace {

constexpr std::size_t kMostHandWritten_bytes = 1U << 20U;  // a session or a scenario; longer JSON is not examined
constexpr std::size_t kMostHead_bytes = 64U << 10U;        // the longest line of a log
constexpr std::string_view kByteOrderMark = "\xef\xbb\xbf";
constexpr std::string_view kBlank = " \t\r";
constexpr std::string_view kReadingStart = R"({"schema":"evenwall/reading/)";
constexpr const char* kOwnColumn = "tilt_from_signal_deg";  // a column of `solve --csv` that no step log has

constexpr std::array<std::string_view, 34> kAudioExtensions{
    "wav", "wave", "bwf",  "rf64", "bw64", "w64", "aif", "aiff", "aifc", "flac", "mp1", "mp2", "mp3", "ogg", "oga", "opus", "spx",
    "m4a", "m4b",  "alac", "aac",  "ac3",  "caf", "au",  "snd",  "voc",  "wv",   "ape", "tak", "tta", "wma", "mka", "dsf",  "dff"};

std::string lower(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(), [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return text;
}

[[noreturn]] void refuse_found(const std::string& name, std::string_view found, std::string_view advice) {
  storage::refuse(name, fmt::format("{}. Nothing was written. {}", found, advice));
}

std::string head_of(int descriptor, std::size_t most_bytes, const std::string& name) {
  std::string head(most_bytes, '\0');
  std::size_t size = 0;
  while (size < most_bytes) {
    const ssize_t n = ::pread(descriptor, head.data() + size, most_bytes - size, static_cast<off_t>(size));
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) storage::refuse(name, "the file cannot be read: " + storage::errno_text(errno));
    if (n == 0) break;
    size += static_cast<std::size_t>(n);
  }
  head.resize(size);
  return head;
}

std::string_view trimmed(std::string_view text, std::string_view around) {
  const std::size_t first = text.find_first_not_of(around);
  return first == std::string_view::npos ? std::string_view() : text.substr(first, text.find_last_not_of(around) - first + 1);
}

struct Line {
  std::string_view text;
  bool ended = false;  // by a line end, not by the end of the file
};

/// Returns the next line that is not blank; nothing at the end.
std::optional<Line> next_line(std::string_view& rest) {
  while (!rest.empty()) {
    const std::size_t end = std::min(rest.find_first_of("\r\n"), rest.size());
    const Line line{trimmed(rest.substr(0, end), kBlank), end < rest.size()};
    rest.remove_prefix(std::min(end + 1, rest.size()));
    if (!line.text.empty()) return line;
  }
  return std::nullopt;
}

std::string_view without_mark(std::string_view text) {
  if (text.starts_with(kByteOrderMark)) text.remove_prefix(kByteOrderMark.size());
  return text;
}

std::set<std::string, std::less<>> columns_of(std::string_view header) {
  std::set<std::string, std::less<>> columns;
  while (!header.empty()) {
    const std::size_t end = std::min(header.find_first_of(",;\t"), header.size());
    columns.emplace(trimmed(header.substr(0, end), " \""));
    header.remove_prefix(std::min(end + 1, header.size()));
  }
  return columns;
}

/// The kind of hand-kept table that this text is; nullptr for any other text.
const char* table_in(std::string_view text) {
  std::optional<Line> line = next_line(text);
  while (line && line->text.starts_with('#')) line = next_line(text);
  if (!line) return nullptr;
  const auto columns = columns_of(line->text);
  const bool has_tilt = columns.contains("tilt_deg") || columns.contains("tilt_units");
  if (!has_tilt || columns.contains(kOwnColumn)) return nullptr;
  if (columns.contains("capture")) return "a step log";
  return columns.contains("right_into_left_db") ? "a meter table" : nullptr;
}

/// The kind of hand-written document that this text is; nullptr for any other text.
const char* document_in(const std::string& text, const std::string& name) {
  if (!trimmed(text, " \t\r\n").starts_with('{')) return nullptr;
  try {
    const std::string schema = schema_of(text, name).value_or("");
    if (schema.starts_with("evenwall/session/")) return "a session";
    if (schema.starts_with("evenwall/scenario/")) return "a scenario";
  } catch (const Error&) {  // broken JSON, or JSON that continues beyond the bytes read
  }
  return nullptr;
}

struct KeptDocument {
  std::string_view schema;
  const char *kind, *advice;
};
constexpr std::array<KeptDocument, 3> kKeptDocuments{
    {{"evenwall/reading/", "readings", "Name another output, or add to them with --append."},
     {"evenwall/calibration/", "a calibration", "Name another output, or remove this file first."},
     {"evenwall/truth/", "a simulation's true values", "Name another output, or remove this file first."}}};

/// The schema of a text that is one document, or of the first line of a text that has one document per line.
std::string first_schema(const std::string& text, const std::string& name) {
  std::string_view rest = text;
  const auto line = next_line(rest);
  if (line && line->text.starts_with(kReadingStart)) return "evenwall/reading/";  // also if a crash cut the line off
  for (const std::string& document : {std::string(line ? line->text : ""), text}) {
    try {
      if (const auto schema = schema_of(document, name)) return *schema;
    } catch (const Error&) {  // not a document by itself
    }
  }
  return "";
}

bool is_reading(const std::string& line, const std::string& name) {
  if (line.starts_with(kReadingStart)) return true;
  try {
    return schema_of(line, name).value_or("").starts_with("evenwall/reading/");
  } catch (const Error&) {
    return false;
  }
}

}  // namespace

void refuse_audio_name(const std::filesystem::path& path, const std::string& name) {
  const std::string extension = lower(path.extension().string());
  if (extension.empty() || std::find(kAudioExtensions.begin(), kAudioExtensions.end(), extension.substr(1)) == kAudioExtensions.end())
    return;
  refuse_found(name, "this is the name of a recording (" + extension + "), which an output must not replace",
               "Give the output a separate name before the recordings.");
}

void refuse_irreplaceable(const std::filesystem::path& path, const std::string& name) {
  const storage::Descriptor file(::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NOCTTY | O_NONBLOCK));
  if (file.get() < 0) storage::refuse(name, "the file cannot be read, so its content is unknown: " + storage::errno_text(errno));
  const std::string text(without_mark(head_of(file.get(), kMostHandWritten_bytes, name)));
  constexpr const char* kAdvice = "Name another output, or remove this file first.";
  if (const auto audio = base::audio_kind(text))
    refuse_found(name, "the file holds audio (" + *audio + "), which the output would replace", kAdvice);
  const char* kind = table_in(std::string_view(text).substr(0, kMostHead_bytes));
  if (kind == nullptr) kind = document_in(text, name);
  if (kind == nullptr && !text.empty() && path.filename() == "session.json") kind = "a session";
  if (kind != nullptr) refuse_found(name, std::string("the file holds ") + kind + ", which the output would replace", kAdvice);
}

void refuse_other_documents(const std::filesystem::path& path, const std::string& name, std::string_view own_schema) {
  struct stat status {};
  if (::stat(path.c_str(), &status) != 0 || !S_ISREG(status.st_mode)) return;
  const storage::Descriptor file(::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NOCTTY | O_NONBLOCK));
  if (file.get() < 0) storage::refuse(name, "the file cannot be read, so its content is unknown: " + storage::errno_text(errno));
  const std::string schema = first_schema(std::string(without_mark(head_of(file.get(), kMostHandWritten_bytes, name))), name);
  for (const KeptDocument& kept : kKeptDocuments) {
    if (schema.starts_with(kept.schema) && kept.schema != own_schema) {
      refuse_found(name, std::string("the file holds ") + kept.kind + ", which the output would replace", kept.advice);
    }
  }
}

void refuse_unless_readings(int descriptor, const std::string& name) {
  const std::string head = head_of(descriptor, kMostHead_bytes, name);
  std::string_view rest = without_mark(head);
  while (const auto line = next_line(rest)) {
    if (is_reading(std::string(line->text), name)) return;
    // This line may have been cut off by a crash, after which the next run began its own line.
    if (!kReadingStart.starts_with(line->text)) break;
    if (!line->ended) return;
  }
  if (trimmed(without_mark(head), " \t\r\n").empty() && head.size() < kMostHead_bytes) return;
  refuse_found(name, "the file holds something other than readings", "Add readings to a separate file, for example readings.jsonl.");
}

void refuse_unless_fits(int descriptor, std::string_view line, const std::string& name) {
  if (line.starts_with(kReadingStart)) refuse_unless_readings(descriptor, name);
}

}  // namespace evenwall::internal::documents
