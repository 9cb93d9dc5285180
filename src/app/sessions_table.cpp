// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/sessions_table.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "app/csv_cell.hpp"
#include "base/text.hpp"
#include "evenwall/words.hpp"
#include "report/page.hpp"

namespace evenwall::internal::app {
namespace {

constexpr std::size_t kSourceColumns = 24;
constexpr std::size_t kCartridgeColumns = 10;

std::string millimetres(const OptionalNumber& height_mm) { return height_mm ? fmt::format("{:.2f}", *height_mm) : ""; }

std::string joined(const std::vector<std::string>& words) {
  std::string all;
  for (const std::string& word : words) all += (all.empty() ? "" : " ") + word;
  return all;
}

}  // namespace

SessionLine session_line_of(const std::string& source, const Solution& solution) {
  SessionLine line;
  line.source = source;
  line.cartridge = solution.session.cartridge.value_or("");
  const SetTo set = solution.set_to.value_or(SetTo{solution.recommended.tilt_deg, solution.recommended.u_deg, {}, {}, {}, {}});
  if (!set.from_capture) {
    line.set_to_deg = set.tilt_deg;
    line.u_deg = set.u_deg;
  }
  line.set_to_units = set.tilt_units;
  line.u_units = set.u_tilt_units;
  if (solution.now) {
    line.turn_deg = solution.now->turn_deg;
    line.u_turn_deg = solution.now->u_deg;
    line.turn_units = solution.now->turn_units;
    line.shim_mm = solution.now->height_mm;
    if (solution.now->place_shim_at) line.shim_at = enum_name(*solution.now->place_shim_at);
  }
  if (solution.verdict) line.verdict = enum_name(solution.verdict->state);
  for (const Warning& w : solution.warnings) {
    const std::string code = enum_name(w.code);
    if (std::find(line.warnings.begin(), line.warnings.end(), code) == line.warnings.end()) line.warnings.push_back(code);
  }
  return line;
}

std::string sessions_table(const std::vector<SessionLine>& lines) {
  report::TextTable table{{{"session", "cartridge", "set to", "u", "turn", "shim mm", "verdict", "warn."}}, false};
  for (const SessionLine& line : lines) {
    const std::string set = line.set_to_units ? fmt::format("{:+.3f}", *line.set_to_units)
                            : line.set_to_deg ? fmt::format("{:+.2f}°", *line.set_to_deg)
                                              : "n/a";
    const std::string u = line.u_units ? fmt::format("{:.3f}", *line.u_units) : line.u_deg ? fmt::format("{:.3f}°", *line.u_deg) : "n/a";
    table.rows.push_back({report::shortened_inside(base::escaped(line.source), kSourceColumns),
                          report::shortened_inside(base::escaped(line.cartridge), kCartridgeColumns), set, u,
                          line.turn_deg ? fmt::format("{:+.2f}°", *line.turn_deg) : "n/a", millimetres(line.shim_mm), line.verdict,
                          line.warnings.empty() ? "" : std::to_string(line.warnings.size())});
  }
  report::Page page(report::Ink::kPlain);
  page.table(table);
  return page.text();
}

std::string sessions_csv_line(const SessionLine& line) {
  return fmt::format("{},{},{},{},{},{},{},{},{},{},{},{},{}\n", text_cell(line.source), text_cell(line.cartridge),
                     number_cell(line.set_to_deg), number_cell(line.u_deg), number_cell(line.set_to_units), number_cell(line.u_units),
                     number_cell(line.turn_deg), number_cell(line.u_turn_deg), number_cell(line.turn_units), number_cell(line.shim_mm),
                     line.shim_at, line.verdict, text_cell(joined(line.warnings)));
}

}  // namespace evenwall::internal::app
