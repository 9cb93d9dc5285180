#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.hpp"
#include "evenwall/report.hpp"
#include "report/number_format.hpp"
#include "report/page.hpp"
#include "report/solution_tables.hpp"

namespace evenwall {
namespace {

constexpr double kNoMove_deg = 0.005;  // no hand sets closer

std::string answer_sentence(const Solution& solution) {
  const Recommended& r = solution.recommended;
  return fmt::format("{} the cartridge to a tilt of {}° (95 % interval {}).",
                     r.scope == Scope::kThisRecord ? "For this record, set" : "Set", signed_with_uncertainty(r.tilt_deg, r.u_deg),
                     interval_text(r.interval95_deg, r.u_deg));
}

/// The number to set on the logged ruler, where that is not simply the tilt.
std::string on_own_ruler(const Solution& solution) {
  if (!solution.recommended.tilt_units) return {};
  const bool units_logged =
      std::any_of(solution.steps.begin(), solution.steps.end(), [](const SolvedStep& s) { return s.tilt_units.has_value(); });
  const double off_deg = std::abs(*solution.recommended.tilt_units - solution.recommended.tilt_deg);
  if (!units_logged && off_deg < std::max(kNoMove_deg, solution.recommended.u_deg)) return {};
  const double per_unit = solution.tilt_response.degrees_per_unit;
  // No ± for the ruler's number: zero and scale hang together, and the document holds no uncertainty of it.
  return fmt::format("On the ruler of your log: {:+.3f} (one of its units is {}°).", *solution.recommended.tilt_units,
                     signed_with_uncertainty(per_unit, solution.tilt_response.u_degrees_per_unit));
}

void add_session(Page& page, const Solution& solution) {
  const SessionFacts& facts = solution.session;
  const auto fact = [&](const char* name, const std::optional<std::string>& value) {
    return value ? fmt::format("{} {}; ", name, escaped(*value)) : std::string();
  };
  page.paragraph(fact("cartridge", facts.cartridge) + fact("record", facts.record) + fact("side", facts.record_side) +
                 fact("rig", facts.rig) + fact("operator", facts.operator_name) + fact("date", facts.date) +
                 fmt::format("at {:.1f} Hz", solution.frequency_hz));
  page.paragraph("Basis: " + escaped(solution.recommended.why) + ".");
  if (const std::string ruler = on_own_ruler(solution); !ruler.empty()) page.paragraph(ruler);
}

std::string height_text(const Shim& shim) { return shim.height_mm ? fmt::format("{:.2f} mm", *shim.height_mm) : "n/a"; }

void add_turn_by_side(Page& page, const Shim& shim) {
  const bool clockwise = *shim.raises == Side::kSpindleSide;
  page.paragraph(fmt::format("Turn it {} as seen from the front, by {:.2f}° from {}: the {} side of the cartridge goes up.",
                             clockwise ? "clockwise" : "anticlockwise", std::abs(shim.move_deg), degrees_text(shim.from_tilt_deg, 2),
                             clockwise ? "spindle" : "outer"));
  page.paragraph(fmt::format("By shim: {} under the {} screw. The cartridge hangs below the headshell, so a shim lowers the side it is at.",
                             height_text(shim), *shim.place_shim_at == Side::kOuterSide ? "outer" : "spindle-side"));
}

void add_turn_by_steps(Page& page, const Solution& solution) {
  const Shim& shim = solution.shim;
  page.paragraph("No side can be named: the captures leave open which way the log counts.");
  if (solution.steps.size() < 2) {
    page.paragraph(fmt::format("Turn it by {:.2f}° towards the {} tilts of your own log.", std::abs(shim.move_deg),
                               shim.move_deg > 0 ? "higher" : "lower"));
  } else {
    const SolvedStep& low = solution.steps.front();
    const SolvedStep& high = solution.steps.back();
    const SolvedStep& from = shim.move_deg > 0 ? low : high;
    const SolvedStep& towards = shim.move_deg > 0 ? high : low;
    page.paragraph(fmt::format("Turn it by {:.2f}° from {}, in the direction from step {} ({}) towards step {} ({}).",
                               std::abs(shim.move_deg), degrees_text(shim.from_tilt_deg, 2), escaped(from.capture),
                               degrees_text(from.tilt_deg, 2), escaped(towards.capture), degrees_text(towards.tilt_deg, 2)));
  }
  page.paragraph(fmt::format("By shim: {}; try it at either screw and capture again.", height_text(shim)));
}

void add_hand(Page& page, const Solution& solution) {
  const Shim& shim = solution.shim;
  page.heading("What to do");
  if (std::abs(shim.move_deg) < kNoMove_deg) {
    page.paragraph(fmt::format("Leave it: {} is where it should be.", degrees_text(shim.from_tilt_deg, 2)));
    return;
  }
  if (shim.raises && shim.place_shim_at) {
    add_turn_by_side(page, shim);
  } else {
    add_turn_by_steps(page, solution);
  }
  page.paragraph(
      fmt::format("An arm or headshell with its own azimuth adjustment needs no shim: turn it by {:.2f}°.", std::abs(shim.move_deg)));
}

void add_contact(Page& page, const Contact& contact) {
  if (!contact.limit_deg || !contact.inside) return;
  page.heading("Stylus contact");
  std::string words =
      fmt::format("The tilt is {} the limit of {:.2f}° from upright.", *contact.inside ? "inside" : "BEYOND", *contact.limit_deg);
  if (!*contact.inside && contact.best_inside_deg) {
    words += fmt::format(" Best inside it: {}.", degrees_text(*contact.best_inside_deg, 2));
  }
  page.paragraph(words);
}

void add_warnings(Page& page, const Warnings& warnings) {
  if (warnings.empty()) return;
  page.heading("Warnings");
  for (const Warning& w : warnings) page.paragraph(escaped(w.code) + ": " + escaped(w.message), "  - ");
}

void add_cautions(Page& page) {
  page.heading("Take care");
  page.paragraph("Turn the volume down before the stylus is lowered or a lead is touched.", "  - ");
  page.paragraph("Switch off before anything is rewired.", "  - ");
  page.paragraph("A stylus is fragile: guard it while you work at the screws.", "  - ");
  page.paragraph("The limits of the cartridge's, arm's and stylus's makers go before this page.", "  - ");
}

}  // namespace

std::string solution_text(const Solution& solution, bool colour) {
  Page page(colour ? Ink::kColour : Ink::kPlain);
  page.answer(answer_sentence(solution));
  add_session(page, solution);
  add_hand(page, solution);
  add_expectation(page, solution);
  add_criteria(page, solution);
  add_frequencies(page, solution);
  add_contact(page, solution.contact);
  add_steps(page, solution);
  add_uncertainty(page, solution);
  if (solution.next_step) {
    page.heading("Next step");
    page.paragraph(escaped(solution.next_step->why) + ".");
  }
  add_warnings(page, solution.warnings);
  add_cautions(page);
  return page.text();
}

}  // namespace evenwall
