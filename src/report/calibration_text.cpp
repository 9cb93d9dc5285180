// SPDX-License-Identifier: GPL-3.0-or-later
// Writes a calibration of the electronics as text.
#include <fmt/format.h>

#include <cmath>

#include "base/text.hpp"
#include "evenwall/report.hpp"
#include "evenwall/words.hpp"
#include "report/number_format.hpp"
#include "report/page.hpp"

namespace evenwall::internal::report {
namespace {

constexpr double kSeenFrom_u = 2.0;  // crosstalk below this many u is shown only as an upper bound

// Finer digits than these show the arithmetic of the generator and the recorder, not the electronics.
constexpr double kFinest_db = 0.001;
constexpr double kFinest_deg = 0.01;

/// A value and its uncertainty, each in its cell.
using Cells = std::vector<std::string>;

/// An uncertainty below `finest` is shown as "<finest".
Cells bounded(double value, double u, double finest, int decimals, const char* unit) {
  if (u >= finest) return {signed_text(value, u) + unit, uncertainty_text(u) + unit};
  return {number_text(value, decimals, true) + unit, fmt::format("<{:g}{}", finest, unit)};
}

bool is_seen(Complex leak, double u) { return std::abs(leak) > 0 && std::abs(leak) >= kSeenFrom_u * u; }

Cells level_cells(Complex leak, double u) {
  const double size = std::abs(leak);
  if (is_seen(leak, u)) return bounded(decibels(size), kDbPerNeper * u / size, kFinest_db, 3, " dB");
  const double most = size + kSeenFrom_u * u;
  return {most > 0 ? "below " + decibels_text(decibels(most)) : "zero", ""};
}

Cells phase_cells(Complex leak, double u) {
  if (!is_seen(leak, u)) return {"n/a", ""};
  return bounded(phase_deg(leak), degrees(u / std::abs(leak)), kFinest_deg, 2, "°");
}

std::vector<std::string> row(const std::string& frequency, const char* direction, Complex leak, double u) {
  const Cells level = level_cells(leak, u);
  const Cells phase = phase_cells(leak, u);
  return {frequency, level[0], level[1], phase[0], phase[1], direction};
}

}  // namespace
}  // namespace evenwall::internal::report

namespace evenwall {

std::string calibration_text(const Calibration& calibration, bool colour) {
  using namespace internal::report;
  Page page(colour ? Ink::kColour : Ink::kPlain);
  page.heading("Crosstalk of the electronics alone, with standard uncertainty u");
  TextTable table{{{"tone", "level", "u", "phase", "u", "direction"}}, true};
  for (const CalibrationPoint& point : calibration.points) {
    table.rows.push_back(row(fmt::format("{:.1f} Hz", point.frequency_hz), "right into left", point.matrix[1], point.u_off_diagonal[0]));
    table.rows.push_back(row("", "left into right", point.matrix[2], point.u_off_diagonal[1]));
  }
  page.table(table);
  if (!calibration.warnings.empty()) page.heading("Warnings");
  for (const Warning& w : calibration.warnings) page.paragraph(enum_name(w.code) + ": " + internal::base::escaped(w.message), "  - ");
  return page.text();
}

}  // namespace evenwall
