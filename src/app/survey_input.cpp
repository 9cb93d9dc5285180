// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/survey_input.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <string_view>

#include "app/in_order.hpp"
#include "app/options.hpp"
#include "base/counted.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"

namespace evenwall::internal::app {
namespace {

constexpr std::size_t kMostStream_bytes = 1U << 30U;
constexpr std::size_t kMostPassedOver = 3;   // number of skipped files that are named
constexpr std::size_t kMostComplaints = 20;  // messages per run; further ones are only counted

struct Source {
  std::string path;
  bool named = true;  ///< the user named it; it was not found in a folder
};

struct Found {
  std::vector<ArchivedSolution> solutions;
  std::vector<std::string> complaints;  ///< messages for the first few unreadable solutions
  std::size_t unreadable = 0;           ///< number of all unreadable solutions
  std::string last;                     ///< last of the further messages
  bool passed_over = false;

  void complain(std::string complaint) {
    if (++unreadable <= kMostComplaints) {
      complaints.push_back(std::move(complaint));
    } else {
      last = std::move(complaint);
    }
  }
};

bool counts(const fs::directory_entry& entry) {
  const std::string name = entry.path().filename().string();
  const std::string kind = entry.path().extension().string();
  std::error_code fault;
  return !name.starts_with(".") && (kind == ".json" || kind == ".jsonl") && entry.is_regular_file(fault);
}

std::vector<Source> sources_in(const std::string& folder) {
  std::vector<Source> found;
  std::error_code fault;
  fs::recursive_directory_iterator at(folder, fault);
  for (; !fault && at != fs::recursive_directory_iterator(); at.increment(fault)) {
    if (counts(*at)) found.push_back({at->path().string(), false});
  }
  if (fault) {
    throw Error(ErrorKind::kInput,
                base::escaped(folder) + ": the folder cannot be listed: " + fault.message() + ". Check its permissions.");
  }
  std::sort(found.begin(), found.end(), [](const Source& a, const Source& b) { return a.path < b.path; });
  return found;
}

std::vector<Source> sources_of(const std::vector<std::string>& inputs) {
  std::vector<Source> all;
  for (const std::string& input : inputs) {
    std::error_code fault;
    if (input != "-" && fs::is_directory(input, fault)) {
      for (Source& source : sources_in(input)) all.push_back(std::move(source));
    } else {
      all.push_back({input, true});
    }
  }
  return all;
}

/// Returns the lines of a text that are not empty, one after the other, with line numbers from 1.
class FilledLines {
 public:
  struct Line {
    std::string_view text;
    int number = 0;
  };
  explicit FilledLines(std::string_view text) : rest_(text) {
    constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
    if (rest_.starts_with(kByteOrderMark)) rest_.remove_prefix(kByteOrderMark.size());
  }
  std::optional<Line> next() {
    while (!rest_.empty()) {
      const std::size_t end = std::min(rest_.find('\n'), rest_.size());
      const Line line{rest_.substr(0, end), ++number_};
      rest_.remove_prefix(std::min(end + 1, rest_.size()));
      if (line.text.find_first_not_of(" \t\r") != std::string_view::npos) return line;
    }
    return std::nullopt;
  }

 private:
  std::string_view rest_;
  int number_ = 0;
};

/// Whether a text has one document per line: it has several lines, and the first one is a whole document.
bool is_line_by_line(std::string_view text) {
  FilledLines lines(text);
  const auto first = lines.next();
  if (!first || !lines.next()) return false;
  return first->text[0] == '{' && first->text[first->text.find_last_not_of(" \t\r")] == '}';
}

void read_one(std::string_view text, const std::string& name, const std::optional<std::string>& grouped_by, Found& found) {
  try {
    found.solutions.push_back(archived_solution_from_json(text, name, grouped_by));
  } catch (const Error& error) {
    if (error.kind() == ErrorKind::kInternal) throw;
    found.complain(error.what());
  }
}

Found read_source(const Source& source, const std::optional<std::string>& grouped_by) {
  Found found;
  try {
    const bool stream = source.path == "-";
    const std::string text = stream ? read_stream(0, kMostStream_bytes) : read_text(source.path, kMostText_bytes);
    const std::string name = stream ? "standard input" : base::escaped(source.path);
    if (!source.named && text.find("evenwall/solution/") == std::string::npos) {
      found.passed_over = true;
      return found;
    }
    if (!is_line_by_line(text)) {
      read_one(text, name, grouped_by, found);
      return found;
    }
    FilledLines lines(text);
    while (const auto line = lines.next()) read_one(line->text, fmt::format("{}:{}", name, line->number), grouped_by, found);
  } catch (const Error& error) {
    if (error.kind() == ErrorKind::kInternal) throw;
    found.complain(error.what());
  }
  return found;
}

void tell_passed_over(const std::vector<std::string>& names, Warnings& warnings) {
  if (names.empty()) return;
  std::string list;
  for (std::size_t i = 0; i < std::min(names.size(), kMostPassedOver); ++i) list += (i > 0 ? ", " : "") + base::escaped(names[i]);
  if (names.size() > kMostPassedOver) list += fmt::format(" and {} more", names.size() - kMostPassedOver);
  warnings.push_back({WarningCode::kPassedOver,
                      "these files hold no solution and are skipped: " + list + ". To see the reason, name such a file itself."});
}

}  // namespace

ArchiveInput archive_from(const std::vector<std::string>& inputs, const std::optional<std::string>& grouped_by, const ProgressTold& told) {
  const std::vector<Source> sources = sources_of(inputs);
  ArchiveInput archive;
  std::vector<std::string> passed_over;
  std::size_t unreadable = 0;
  std::string last;
  const auto take = [&](std::size_t i, Found found) {
    (found.passed_over ? passed_over : archive.files).push_back(sources[i].path);
    if (archive.solutions.empty()) archive.solutions.swap(found.solutions);
    for (ArchivedSolution& s : found.solutions) archive.solutions.push_back(std::move(s));
    unreadable += found.unreadable;
    for (std::string& complaint : found.complaints) {
      if (archive.unreadable.size() < kMostComplaints) {
        archive.warnings.push_back({WarningCode::kSolutionUnreadable, "the solution is excluded: " + complaint});
        archive.unreadable.push_back(std::move(complaint));
      } else {
        last = std::move(complaint);
      }
    }
    if (!found.last.empty()) last = std::move(found.last);
    if (told) told(i + 1, sources.size());
  };
  in_order(
      sources.size(), 0, [&](std::size_t i) { return read_source(sources[i], grouped_by); }, take);
  if (unreadable > archive.unreadable.size()) {
    archive.unreadable.push_back(
        fmt::format("{}. Correct those named first. The last: {}",
                    base::counted(unreadable - archive.unreadable.size(), "more solution cannot be read. It is excluded",
                                  "more solutions cannot be read. They are excluded"),
                    last));
    archive.warnings.push_back({WarningCode::kSolutionUnreadable, archive.unreadable.back()});
  }
  tell_passed_over(passed_over, archive.warnings);
  return archive;
}

}  // namespace evenwall::internal::app
