// steps.csv: a row that cannot be used costs that step only.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>

#include "base/text.hpp"
#include "evenwall/files.hpp"
#include "files/csv_table.hpp"
#include "files/descriptor.hpp"
#include "files/number_text.hpp"

namespace evenwall {
namespace {

constexpr std::size_t kLargestLog = 64UL << 20U;  // bytes
constexpr double kImplausibleTilt_deg = 10;       // no headshell rolls that far: arc-minutes, shim height?
constexpr double kTinyTilt_deg = 0.2;             // all below: radians?
constexpr double kMostSequence = 1e9;             // captures in an evening
constexpr std::size_t kQuotedBytes = 40;          // of a cell, in a message

constexpr std::array<std::string_view, 11> kColumns{"capture", "tilt_deg", "tilt_units", "from_s",   "to_s", "tilt_u",
                                                    "use",     "leads",    "sequence",   "approach", "note"};

/// What is wrong with a row, and where.
struct RowFault {
  std::string column;
  std::string found;
};

/// The columns of the file by name.
class Header {
 public:
  Header(const CsvTable& table, const std::string& name, Warnings& warnings) : size_(table.header.fields.size()) {
    for (std::size_t i = 0; i < size_; ++i) {
      const std::string& column = table.header.fields[i];
      const std::string where = fmt::format("{} line {}", name, table.header.line);
      if (column.empty()) continue;  // what a spreadsheet leaves behind the last column
      if (!index_.emplace(column, i).second) refuse(where, fmt::format("column \"{}\" stands there twice; keep one", escaped(column)));
      if (std::find(kColumns.begin(), kColumns.end(), column) == kColumns.end()) {
        warnings.push_back({"unknown_key", fmt::format("{}: column \"{}\" is unknown and left out", where, escaped(column))});
      }
    }
    if (!has("capture")) refuse(name, "no column \"capture\"; the header row names the columns, for example capture,tilt_deg");
    if (!has("tilt_deg") && !has("tilt_units"))
      refuse(name, "neither a column \"tilt_deg\" (degrees) nor \"tilt_units\" (any ruler); add one");
  }
  [[nodiscard]] bool has(const std::string& column) const { return index_.contains(column); }
  [[nodiscard]] std::size_t size() const { return size_; }
  /// The cell of a column; empty where the file or the row lacks it.
  [[nodiscard]] std::string cell(const CsvRow& row, const std::string& column) const {
    const auto at = index_.find(column);
    return at == index_.end() || at->second >= row.fields.size() ? std::string() : row.fields[at->second];
  }

 private:
  std::size_t size_;
  std::map<std::string, std::size_t> index_;
};

class RowReader {
 public:
  RowReader(const Header& header, DecimalMark mark) : header_(header), mark_(mark) {}

  /// Throws: RowFault.
  [[nodiscard]] Step read(CsvRow row) const {
    require_shape(row);
    Step step;
    Reading& reading = step.reading;
    reading.capture = header_.cell(row, "capture");
    if (reading.capture.empty()) throw RowFault{"capture", "is empty; name the audio file"};
    if (reading.capture.find('\0') != std::string::npos) throw RowFault{"capture", "holds a NUL byte"};
    reading.use = choice<StepUse>(
        row, "use", {{"yes", StepUse::kYes}, {"no", StepUse::kNo}, {"verify", StepUse::kVerify}, {"as_found", StepUse::kAsFound}},
        StepUse::kYes);
    reading.tilt_deg = number(row, "tilt_deg");
    reading.tilt_units = number(row, "tilt_units");
    const bool needs_tilt = reading.use == StepUse::kYes || reading.use == StepUse::kVerify;
    if (needs_tilt && !reading.tilt_deg && !reading.tilt_units)
      throw RowFault{header_.has("tilt_deg") ? "tilt_deg" : "tilt_units", "is empty; give the tilt"};
    reading.tilt_u = at_least_zero(row, "tilt_u");
    step.from_s = at_least_zero(row, "from_s");
    step.to_s = at_least_zero(row, "to_s");
    if (step.to_s && *step.to_s <= step.from_s.value_or(0)) throw RowFault{"to_s", "is not after from_s"};
    step.sequence = number(row, "sequence");
    if (step.sequence && !(std::abs(*step.sequence) <= kMostSequence))
      throw RowFault{"sequence", "is beyond a thousand million; count the captures"};
    step.leads_swapped = choice<bool>(row, "leads", {{"straight", false}, {"swapped", true}}, false);
    const std::string approach = choice<std::string>(row, "approach", {{"up", "up"}, {"down", "down"}}, "");
    if (!approach.empty()) step.approach = approach;
    step.note = header_.cell(row, "note");
    return step;
  }

 private:
  /// Every column has its cell: a line torn off in the middle of a number must not pass.
  void require_shape(CsvRow& row) const {
    if (!row.fault.empty()) throw RowFault{"", row.fault};
    while (row.fields.size() > header_.size() && row.fields.back().empty()) row.fields.pop_back();
    if (row.fields.size() != header_.size()) {
      throw RowFault{"", fmt::format("has {} fields where the header has {}; give every column a field (decimal commas go with semicolons)",
                                     row.fields.size(), header_.size())};
    }
  }

  [[nodiscard]] OptionalNumber number(const CsvRow& row, const std::string& column) const {
    const std::string cell = header_.cell(row, column);
    if (cell.empty()) return std::nullopt;
    const auto value = parse_number(cell, mark_);
    if (!value) throw RowFault{column, fmt::format("\"{}\" is no number", escaped(cell.substr(0, kQuotedBytes)))};
    return value;
  }

  [[nodiscard]] OptionalNumber at_least_zero(const CsvRow& row, const std::string& column) const {
    const auto value = number(row, column);
    if (value && *value < 0) throw RowFault{column, fmt::format("{} is negative", *value)};
    return value;
  }

  template <typename T>
  [[nodiscard]] T choice(const CsvRow& row, const std::string& column, const std::map<std::string, T>& words, T otherwise) const {
    const std::string cell = header_.cell(row, column);
    if (cell.empty()) return otherwise;
    if (const auto at = words.find(cell); at != words.end()) return at->second;
    std::string list;
    for (const auto& [word, value] : words) list += (list.empty() ? "" : ", ") + word;
    throw RowFault{column, fmt::format("\"{}\" is none of {}", escaped(cell.substr(0, kQuotedBytes)), list)};
  }

  const Header& header_;
  DecimalMark mark_;
};

/// Which stretch of which capture earlier rows have taken.
class StretchesTaken {
 public:
  /// Throws: RowFault where the step's stretch overlaps one of before. The same stretch at the same tilt may come again: the session counts
  /// a recording once for each use.
  void take(const Step& step, int line) {
    const Stretch wanted{step.from_s.value_or(0), step.to_s.value_or(std::numeric_limits<double>::infinity()), line, step.reading.tilt_deg,
                         step.reading.tilt_units};
    auto& stretches = by_capture_[fs::path(step.reading.capture).lexically_normal().string()];
    const auto after = stretches.lower_bound(wanted.from_s);
    if (after != stretches.end() && is_repeated(after->second, wanted)) return;
    if (after != stretches.end() && after->second.from_s < wanted.to_s) refuse_overlap(step, after->second.line);
    if (after != stretches.begin() && std::prev(after)->second.to_s > wanted.from_s) refuse_overlap(step, std::prev(after)->second.line);
    stretches.emplace(wanted.from_s, wanted);
  }

 private:
  struct Stretch {
    double from_s, to_s;
    int line;
    OptionalNumber tilt_deg, tilt_units;
  };
  static bool is_repeated(const Stretch& a, const Stretch& b) {
    const bool one_has_no_tilt = (!a.tilt_deg && !a.tilt_units) || (!b.tilt_deg && !b.tilt_units);
    const bool same_tilt = a.tilt_deg == b.tilt_deg && a.tilt_units == b.tilt_units;
    return a.from_s == b.from_s && a.to_s == b.to_s && (same_tilt || one_has_no_tilt);
  }
  [[noreturn]] static void refuse_overlap(const Step& step, int line) {
    const bool whole = !step.from_s && !step.to_s;
    throw RowFault{whole ? "capture" : "from_s", fmt::format("{} is in use by line {}; a stretch of sound serves one step",
                                                             whole ? "the capture" : "part of the stretch", line)};
  }
  std::map<std::string, std::map<double, Stretch>> by_capture_;
};

Step unreadable(const std::string& capture, const std::string& message) {
  Step step;
  step.reading.capture = capture;
  step.reading.error = ReadingError{"step_unreadable", message};
  return step;
}

void warn_of_odd_units(const StepLog& log, const std::string& name, Warnings& warnings) {
  double largest = 0;
  std::size_t tilts = 0;
  for (const Step& step : log.steps) {
    if (!step.reading.tilt_deg) continue;
    largest = std::max(largest, std::abs(*step.reading.tilt_deg));
    ++tilts;
  }
  if (largest > kImplausibleTilt_deg) {
    warnings.push_back(
        {"unit_suspect",
         fmt::format("{}: a tilt_deg of {} is more than a cartridge can lean; arc-minutes, or a ruler for tilt_units?", name, largest)});
  } else if (tilts > 1 && largest > 0 && largest < kTinyTilt_deg) {
    warnings.push_back({"unit_suspect", fmt::format("{}: no tilt_deg above {}; are these radians?", name, largest)});
  }
}

}  // namespace

StepLog read_step_log(const fs::path& path) {
  const std::string name = shown(path);
  const CsvTable table = parse_csv(read_text(path, kLargestLog), name);
  StepLog log;
  const Header header(table, name, log.warnings);
  const RowReader reader(header, table.separator == ';' ? DecimalMark::kPointOrComma : DecimalMark::kPoint);
  StretchesTaken taken;
  std::map<std::vector<std::string>, int> rows_seen;
  for (const CsvRow& row : table.rows) {
    const auto [earlier, is_new] = rows_seen.emplace(row.fields, row.line);
    if (!is_new) {
      log.warnings.push_back(
          {"duplicate_row", fmt::format("{} line {} is the same as line {} and left out", name, row.line, earlier->second)});
      continue;
    }
    try {
      Step step = reader.read(row);
      taken.take(step, row.line);
      log.steps.push_back(std::move(step));
    } catch (const RowFault& fault) {
      const std::string where = fault.column.empty() ? "" : ", column " + fault.column;
      const std::string message = fmt::format("{} line {}{}: {}", name, row.line, where, fault.found);
      log.steps.push_back(unreadable(header.cell(row, "capture"), message));
      log.warnings.push_back({"step_unreadable", message});
    }
  }
  if (table.rows.empty()) refuse(name, "no steps below the header row; add one row a step");
  warn_of_odd_units(log, name, log.warnings);
  return log;
}

}  // namespace evenwall
