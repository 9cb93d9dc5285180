// SPDX-License-Identifier: GPL-3.0-or-later
// Reads steps.csv. A row that cannot be used excludes only its own step.
#include "tables/step_log.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <map>
#include <unordered_map>

#include "base/counted.hpp"
#include "base/ranges.hpp"
#include "base/text.hpp"
#include "evenwall/words.hpp"
#include "storage/descriptor.hpp"
#include "tables/excluded_steps.hpp"
#include "tables/number_text.hpp"
#include "tables/stretches_taken.hpp"
#include "tables/tilt_columns.hpp"
#include "tables/use_word.hpp"

namespace evenwall::internal::tables {

constexpr std::array<std::string_view, 11> kLogColumns{"capture", "tilt_deg", "tilt_units", "from_s",   "to_s", "tilt_u",
                                                       "use",     "leads",    "sequence",   "approach", "note"};

/// Finds the columns of the file by name.
class LogHeader {
 public:
  LogHeader(CsvRow header, const std::string& name, Warnings& warnings) : most_(header.fields.size()) {
    drop_empty_columns(header, 1);
    size_ = header.fields.size();
    for (std::size_t i = 0; i < size_; ++i) {
      const std::string column = column_name(header.fields[i]);
      const std::string where = fmt::format("{}:{}", name, header.line);
      if (column.empty()) continue;
      if (!index_.emplace(column, i).second)
        storage::refuse(where, fmt::format("column \"{}\" appears twice. The log is not read. Keep one of them.", base::escaped(column)));
      if (std::find(kLogColumns.begin(), kLogColumns.end(), column) == kLogColumns.end()) {
        warnings.push_back({WarningCode::kUnknownKey, fmt::format("{}: column \"{}\" is unknown. It is not used. Correct its name.", where,
                                                                  base::escaped(header.fields[i]))});
      }
    }
    if (!has("capture"))
      storage::refuse(name, "there is no column \"capture\". Name the columns in the first row, for example capture,tilt_deg.");
    if (!has_tilts() && like_tilt_column(header.fields)) {
      storage::refuse(name,
                      "there is neither a column \"tilt_deg\" (azimuth in degrees) nor \"tilt_units\" (on a ruler), and a column has a "
                      "similar name. Correct it. A log without tilts has no such column.");
    }
  }
  [[nodiscard]] bool has(const std::string& column) const { return index_.contains(column); }
  [[nodiscard]] bool has_tilts() const { return has("tilt_deg") || has("tilt_units"); }
  /// Number of columns up to the last one with a name, and with the columns after it.
  [[nodiscard]] std::size_t size() const { return size_; }
  [[nodiscard]] std::size_t most() const { return most_; }
  /// The cell of a column; empty if the file or the row lacks it.
  [[nodiscard]] std::string cell(const CsvRow& row, const std::string& column) const {
    const auto at = index_.find(column);
    return at == index_.end() || at->second >= row.fields.size() ? std::string() : row.fields[at->second];
  }

 private:
  std::size_t size_ = 0, most_;
  std::map<std::string, std::size_t> index_;
};

namespace {

constexpr std::size_t kLargestLog = 64UL << 20U;  // bytes
constexpr std::size_t kNamedRepeats = 20;
constexpr std::size_t kQuotedBytes = 40;  // of a cell, quoted in a message

/// The fault of a row as a clause, and advice.
struct LogRowFault {
  std::string found;
  std::string advice = "Correct the log.";
};

class RowReader {
 public:
  explicit RowReader(const LogHeader& header) : header_(header) {}

  /// Throws: LogRowFault.
  [[nodiscard]] LogEntry read(CsvRow row) const {
    require_shape(row);
    LogEntry entry;
    entry.capture = header_.cell(row, "capture");
    if (entry.capture.empty()) throw LogRowFault{"column capture is empty", "Name the recording."};
    if (entry.capture.find('\0') != std::string::npos) throw LogRowFault{"column capture holds a NUL byte"};
    entry.use = use_of(row);
    entry.tilt_deg = number(row, "tilt_deg");
    entry.tilt_units = number(row, "tilt_units");
    if (entry.use == StepUse::kVerify && header_.has_tilts() && !entry.tilt_deg && !entry.tilt_units)
      throw LogRowFault{fmt::format("column {} is empty", header_.has("tilt_deg") ? "tilt_deg" : "tilt_units"), "Give the tilt."};
    entry.tilt_u = number(row, "tilt_u");
    entry.from_s = number(row, "from_s");
    entry.to_s = number(row, "to_s");
    if (entry.to_s && *entry.to_s <= entry.from_s.value_or(0)) throw LogRowFault{"to_s is not after from_s"};
    entry.sequence = number(row, "sequence");
    entry.leads_swapped = choice<bool>(row, "leads", {{"straight", false}, {"swapped", true}}, false);
    const std::string approach = choice<std::string>(row, "approach", {{"up", "up"}, {"down", "down"}}, "");
    if (!approach.empty()) entry.approach = approach;
    entry.note = header_.cell(row, "note");
    return entry;
  }

 private:
  /// Checks that every column has its cell: a line torn off in the middle of a number must not be accepted.
  void require_shape(CsvRow& row) const {
    if (!row.fault.empty()) throw LogRowFault{"the row " + row.fault, "Inside a quoted field, write each quote twice."};
    drop_empty_columns(row, header_.size());
    if (row.fields.size() < header_.size() || row.fields.size() > header_.most()) {
      throw LogRowFault{
          fmt::format("the row has {}, but the header has {}", base::counted(row.fields.size(), "field"), header_.size()),
          "Give every column a field. If a number has a decimal comma, put it in quotes, or separate the fields with semicolons."};
    }
  }

  [[nodiscard]] OptionalNumber number(const CsvRow& row, const std::string& column) const {
    const std::string cell = header_.cell(row, column);
    if (cell.empty()) return std::nullopt;
    const auto value = parse_number_of(column, cell);
    if (!value)
      throw LogRowFault{fmt::format("column {} has \"{}\", which is not a number", column, base::escaped(cell.substr(0, kQuotedBytes)))};
    const base::Range& range = base::range_of("log", column);
    if (!base::in_range(range, *value)) throw LogRowFault{fmt::format("{} is {}", column, base::out_of_range_text(range, *value))};
    return value;
  }

  [[noreturn]] static void refuse_word(const std::string& column, const std::string& cell, const std::string& list) {
    throw LogRowFault{
        fmt::format("column {} has \"{}\", which is not one of {}", column, base::escaped(cell.substr(0, kQuotedBytes)), list)};
  }

  [[nodiscard]] StepUse use_of(const CsvRow& row) const {
    const std::string cell = header_.cell(row, "use");
    if (cell.empty()) return StepUse::kYes;
    if (const auto use = use_named(cell)) return *use;
    refuse_word("use", cell, enum_list<StepUse>());
  }

  template <typename T>
  [[nodiscard]] T choice(const CsvRow& row, const std::string& column, const std::map<std::string, T>& words, T otherwise) const {
    const std::string cell = header_.cell(row, column);
    if (cell.empty()) return otherwise;
    if (const auto at = words.find(cell); at != words.end()) return at->second;
    std::string list;
    for (const auto& [word, value] : words) list += (list.empty() ? "" : ", ") + word;
    refuse_word(column, cell, list);
  }

  const LogHeader& header_;
};

[[noreturn]] void refuse_overlap(const LogEntry& entry, int line) {
  const bool whole = !entry.from_s && !entry.to_s;
  throw LogRowFault{fmt::format("{} is in use by line {}", whole ? "the recording" : "a part of the stretch from from_s to to_s", line),
                    "Use each stretch of a recording for one step only."};
}

/// Holds the positions of earlier rows, to find one with the same fields.
class RowsSeen {
 public:
  explicit RowsSeen(const CsvRows& rows) : rows_(rows) {}
  /// Returns the line of an earlier row with the same fields, if there is one.
  std::optional<int> earlier(const CsvRow& row) {
    std::size_t hash = row.fields.size();
    for (const std::string& field : row.fields) hash = hash * kMixing + std::hash<std::string>{}(field);
    const auto [at, is_new] = by_hash_.emplace(hash, rows_.position());
    if (is_new) return std::nullopt;
    const CsvRow before = rows_.row_at(at->second);
    return before.fields == row.fields ? std::optional(before.line) : std::nullopt;
  }

 private:
  static constexpr std::size_t kMixing = 0x9E3779B97F4A7C15;  // odd, with irregular bits
  const CsvRows& rows_;
  std::unordered_map<std::size_t, CsvRows::Position> by_hash_;
};

std::string message_of(const LogRowFault& fault, const std::string& name, int line) {
  return fmt::format("{}:{}: {}. The step is excluded. {}", name, line, fault.found, fault.advice);
}

}  // namespace

struct LoggedSteps::Parts {
  explicit Parts(const fs::path& path)
      : name(storage::shown(path)), text(read_text(path, kLargestLog)), rows(text, name), header(rows.header(), name, warnings) {
    read();
  }

  void read() {
    const RowReader reader(header);
    StretchesTaken taken;
    RowsSeen seen(rows);
    UnitWatch units;
    ExcludedSteps excluded(name);
    bool empty = true;
    while (const auto row = rows.next()) {
      empty = false;
      if (const auto earlier = seen.earlier(*row)) {
        repeat(row->line, *earlier);
        continue;
      }
      try {
        units.see(header.cell(*row, "tilt_deg"));
        const LogEntry entry = reader.read(*row);
        if (const auto overlapped = taken.take(entry, row->line)) refuse_overlap(entry, *overlapped);
        places.push_back(rows.position());
      } catch (const LogRowFault& fault) {
        const std::string message = message_of(fault, name, row->line);
        if (!excluded.add(message, warnings)) continue;
        unusable[places.size()] = {header.cell(*row, "capture"), {ReadingFault::kStepUnreadable, message}};
        places.push_back(rows.position());
      }
    }
    if (empty) storage::refuse(name, "there are no steps below the header row. Add one row per step.");
    excluded.count(warnings);
    if (repeats > kNamedRepeats) {
      const std::size_t more = repeats - kNamedRepeats;
      warnings.push_back(
          {WarningCode::kDuplicateRow, fmt::format("{}: {}.", name,
                                                   base::counted(more, "more row repeats an earlier row. It is excluded. Delete it",
                                                                 "more rows repeat earlier rows. They are excluded. Delete them"))});
    }
    units.warn(name, warnings);
  }

  void repeat(int line, int earlier) {
    if (++repeats > kNamedRepeats) return;
    warnings.push_back(
        {WarningCode::kDuplicateRow, fmt::format("{}:{}: the row repeats line {}. It is excluded. Delete it.", name, line, earlier)});
  }

  std::string name, text;
  Warnings warnings;
  CsvRows rows;
  LogHeader header;
  std::vector<CsvRows::Position> places;
  std::map<std::size_t, BadRow> unusable;  // by their index in places
  std::size_t repeats = 0;
};

LoggedSteps::LoggedSteps(const fs::path& path) : parts_(std::make_unique<Parts>(path)) {}
LoggedSteps::LoggedSteps(LoggedSteps&&) noexcept = default;
LoggedSteps& LoggedSteps::operator=(LoggedSteps&&) noexcept = default;
LoggedSteps::~LoggedSteps() = default;

std::size_t LoggedSteps::size() const { return parts_->places.size(); }

std::variant<LogEntry, BadRow> LoggedSteps::row(std::size_t index) const {
  assert(index < size());
  if (const auto bad = parts_->unusable.find(index); bad != parts_->unusable.end()) return bad->second;
  return RowReader(parts_->header).read(parts_->rows.row_at(parts_->places[index]));
}

const Warnings& LoggedSteps::warnings() const { return parts_->warnings; }

}  // namespace evenwall::internal::tables

namespace evenwall {

StepLog read_step_log(const fs::path& path) {
  const internal::tables::LoggedSteps logged(path);
  StepLog log;
  log.rows.reserve(logged.size());
  for (std::size_t i = 0; i < logged.size(); ++i) log.rows.push_back(logged.row(i));
  log.warnings = logged.warnings();
  return log;
}

}  // namespace evenwall
