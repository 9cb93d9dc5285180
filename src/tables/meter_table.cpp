// SPDX-License-Identifier: GPL-3.0-or-later
// Reads a meter table: the readings of a voltmeter at each tilt. A row that cannot be used is excluded; the others remain in use.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <set>

#include "base/counted.hpp"
#include "base/ranges.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "storage/descriptor.hpp"
#include "tables/csv_table.hpp"
#include "tables/excluded_steps.hpp"
#include "tables/number_text.hpp"

namespace evenwall::internal::tables {
namespace {

constexpr double kDefaultMeter_u_db = 0.2;    // uncertainty of a needle or a display read once (a judgement)
constexpr std::size_t kMostMeterRows = 2000;  // a fit of more rows takes hours: its time grows with their square
constexpr double kRepeatedBalance_db = 0.0;   // for crosstalk against its own channel's level, both levels count as equal
constexpr std::array<std::string_view, 9> kMeterColumns{
    "tilt_deg",   "tilt_units", "right_into_left_db", "left_into_right_db", "right_into_left_phase_deg", "left_into_right_phase_deg",
    "balance_db", "u_db",       "reference"};

/// The fault of a row as a clause, and advice.
struct MeterRowFault {
  std::string found;
  std::string advice = "Correct the table.";
};

class MeterRows {
 public:
  MeterRows(const CsvRows& table, const std::string& name, double frequency_hz, Warnings& warnings)
      : most_(table.header().fields.size()), frequency_hz_(frequency_hz) {
    CsvRow header = table.header();
    drop_empty_columns(header, 1);
    for (const std::string& column : header.fields) header_.push_back(column_name(column));
    std::set<std::string> seen;
    for (const std::string& column : header_) {
      if (column.empty()) continue;
      if (!seen.insert(column).second)
        storage::refuse(name, fmt::format("column \"{}\" appears twice. The table is not read. Keep one of them.", base::escaped(column)));
      if (std::find(kMeterColumns.begin(), kMeterColumns.end(), column) == kMeterColumns.end()) {
        warnings.push_back({WarningCode::kUnknownKey,
                            fmt::format("{}: column \"{}\" is unknown. It is not used. Correct its name.", name, base::escaped(column))});
      }
    }
    for (const char* needed : {"right_into_left_db", "left_into_right_db"}) {
      if (!seen.contains(needed)) {
        storage::refuse(
            name, fmt::format("there is no column \"{}\". Add it, because a meter table needs the crosstalk in both directions.", needed));
      }
    }
    if (!seen.contains("tilt_deg") && !seen.contains("tilt_units"))
      storage::refuse(name, "there is neither a column \"tilt_deg\" (azimuth in degrees) nor \"tilt_units\" (on a ruler). Add one.");
  }

  /// Throws: MeterRowFault.
  [[nodiscard]] Step step(CsvRow row) const {
    if (!row.fault.empty()) throw MeterRowFault{"the row " + row.fault, "Inside a quoted field, write each quote twice."};
    drop_empty_columns(row, header_.size());
    if (row.fields.size() < header_.size() || row.fields.size() > most_) {
      throw MeterRowFault{fmt::format("the row has {}, but the header has {}", base::counted(row.fields.size(), "field"), header_.size())};
    }
    LogEntry log;
    log.capture = capture_of(row);
    log.tilt_deg = number(row, "tilt_deg");
    log.tilt_units = number(row, "tilt_units");
    if (!log.tilt_deg && !log.tilt_units) throw MeterRowFault{"the tilt is empty", "Give the tilt."};
    const double u_db = number(row, "u_db").value_or(kDefaultMeter_u_db);
    const auto rl_phase = number(row, "right_into_left_phase_deg");
    const auto lr_phase = number(row, "left_into_right_phase_deg");
    Measurement measured;
    measured.phases_measured = rl_phase && lr_phase;
    OptionalNumber balance_db = number(row, "balance_db");
    const bool own = against_own_channel(row);
    if (own && !balance_db) balance_db = kRepeatedBalance_db;
    // The fit needs crosstalk against the driven channel; the balance converts crosstalk against its own channel to that.
    const double to_driven_db = own ? *balance_db : 0.0;
    const auto level = [&](const char* column) {
      const auto db = number(row, column);
      if (!db) throw MeterRowFault{fmt::format("column {} is empty", column)};
      return *db;
    };
    const double rl_db = level("right_into_left_db") + to_driven_db, lr_db = level("left_into_right_db") - to_driven_db;
    LeakPair pair{frequency_hz_, leak(rl_db, measured.phases_measured ? rl_phase : std::nullopt, balance_db, -1, u_db),
                  leak(lr_db, measured.phases_measured ? lr_phase : std::nullopt, balance_db, 1, u_db)};
    measured.crosstalk = pair;
    measured.crosstalk_spectrum = {pair};
    measured.balance_db = balance_db;
    if (balance_db) measured.u_balance_db = own && !number(row, "balance_db") ? 0.0 : u_db;
    return {log, measured};
  }

  /// The text that is used instead of a recording's name.
  [[nodiscard]] static std::string capture_of(const CsvRow& row) { return fmt::format("line {}", row.line); }

 private:
  [[nodiscard]] std::string cell(const CsvRow& row, std::string_view column) const {
    for (std::size_t i = 0; i < header_.size(); ++i) {
      if (header_[i] == column) return row.fields[i];
    }
    return {};
  }

  [[nodiscard]] OptionalNumber number(const CsvRow& row, std::string_view column) const {
    const std::string text = cell(row, column);
    if (text.empty()) return std::nullopt;
    const auto value = parse_number_of(column, text);
    if (!value) throw MeterRowFault{fmt::format("column {} has \"{}\", which is not a number", column, base::escaped(text.substr(0, 40)))};
    const base::Range& range = base::range_of("meter", column);
    if (!base::in_range(range, *value)) throw MeterRowFault{fmt::format("{} is {}", column, base::out_of_range_text(range, *value))};
    return value;
  }

  [[nodiscard]] bool against_own_channel(const CsvRow& row) const {
    const std::string word = cell(row, "reference");
    if (word.empty() || word == "driven") return false;
    if (word == "own") return true;
    throw MeterRowFault{fmt::format("column reference has \"{}\", which is not one of driven, own", base::escaped(word.substr(0, 40)))};
  }

  /// gain_sign: sign with which the balance is added to the observed ratio in dB: +1 for left into right, −1 for right into left.
  [[nodiscard]] static Leak leak(double db, OptionalNumber phase_deg, OptionalNumber balance_db, int gain_sign, double u_db) {
    Leak leak;
    const double size = amplitude_ratio(db);
    const double u = size * u_db / kDbPerNeper;
    leak.same_passage = {std::polar(size, radians(phase_deg.value_or(0))), u, u, 0};
    if (!balance_db) return leak;
    const Complex free = leak.same_passage.value * amplitude_ratio(gain_sign * *balance_db);
    leak.db = decibels(std::abs(free));
    leak.re = free.real();
    leak.im = free.imag();
    leak.u_re = leak.u_im = std::abs(free) * u_db / kDbPerNeper;
    if (phase_deg) leak.phase_deg = *phase_deg;
    return leak;
  }

  std::size_t most_;  ///< columns with those after the last one with a name
  std::vector<std::string> header_;
  double frequency_hz_;
};

}  // namespace
}  // namespace evenwall::internal::tables

namespace evenwall {

MeterTable meter_table_from_csv(std::string_view text, const std::string& name, double frequency_hz) {
  using namespace internal::tables;
  CsvRows table(text, name);
  MeterTable result;
  const MeterRows rows(table, name, frequency_hz, result.warnings);
  ExcludedSteps excluded(name);
  bool empty = true;
  while (const auto row = table.next()) {
    empty = false;
    try {
      result.steps.push_back(rows.step(*row));
    } catch (const MeterRowFault& fault) {
      const std::string message = fmt::format("{}:{}: {}. The step is excluded. {}", name, row->line, fault.found, fault.advice);
      if (!excluded.add(message, result.warnings)) continue;
      result.steps.push_back({LogEntry{.capture = MeterRows::capture_of(*row)}, ReadingError{ReadingFault::kStepUnreadable, message}});
    }
    if (result.steps.size() > kMostMeterRows)
      internal::storage::refuse(name, fmt::format("the table has more than {} rows. It is not read. Split it.", kMostMeterRows));
  }
  if (empty) internal::storage::refuse(name, "there are no readings below the header row. Add one row per tilt.");
  excluded.count(result.warnings);
  return result;
}

}  // namespace evenwall
