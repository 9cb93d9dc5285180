// SPDX-License-Identifier: GPL-3.0-or-later
// Writes the reading of one recording, and its rejected stretches, as text.
#include <fmt/format.h>

#include <cmath>

#include "base/text.hpp"
#include "evenwall/report.hpp"
#include "evenwall/words.hpp"
#include "report/number_format.hpp"
#include "report/page.hpp"

namespace evenwall::internal::report {
namespace {

/// The relative u of the level: the uncertainty along the direction of the complex value, divided by its magnitude.
OptionalNumber relative_u(const Leak& leak) {
  if (!leak.db || !leak.re || !leak.im || !leak.u_re || !leak.u_im) return std::nullopt;
  const double size = std::hypot(*leak.re, *leak.im);
  if (!(size > 0)) return std::nullopt;
  return std::hypot(*leak.re * *leak.u_re, *leak.im * *leak.u_im) / size / size;
}

std::vector<std::string> leak_row(const char* direction, const std::optional<Leak>& leak) {
  if (!leak) return {direction, "not captured", "", "", ""};
  const OptionalNumber relative = relative_u(*leak);
  const double u_db = kDbPerNeper * relative.value_or(0);
  return {direction, relative ? signed_text(*leak->db, u_db) + " dB" : decibels_text(leak->db),
          relative ? uncertainty_text(u_db) + " dB" : "", leak->phase_deg ? degrees_text(*leak->phase_deg, 1) : "n/a",
          decibels_text(leak->band_db)};
}

std::string driven_text(Driven driven) { return driven == Driven::kLeft ? "left only" : driven == Driven::kRight ? "right only" : "both"; }

std::string driven_text(const Passage& p) {
  if (p.driven != Driven::kBoth) return driven_text(p.driven);
  if (!p.relation) return "both";
  return *p.relation == Relation::kInPhase ? "both, in phase" : "both, antiphase";
}

std::string percent_text(const OptionalNumber& value) { return value ? fmt::format("{:.2f}", *value) : "n/a"; }

/// Kind and frequency of a passage: "tone 1000.0 Hz".
std::string what_text(const Passage& p) {
  if (p.frequency_hz) return enum_name(p.kind) + fmt::format(" {:.1f} Hz", *p.frequency_hz);
  if (p.frequency_from_hz && p.frequency_to_hz) {
    return enum_name(p.kind) + fmt::format(" {:.0f}-{:.0f} Hz", *p.frequency_from_hz, *p.frequency_to_hz);
  }
  return enum_name(p.kind);
}

void add_passages(Page& page, const Measurement& measured) {
  page.heading("Passages, in time order");
  TextTable table{{{"seconds", "driven", "signal", "dBFS", "SNR dB", "dist. %", "wow %"}}};
  for (const Passage& p : measured.passages) {
    const double level = p.driven == Driven::kRight ? p.level_right_dbfs : p.level_left_dbfs;
    table.rows.push_back({fmt::format("{:.1f}-{:.1f}", p.start_s, p.end_s), driven_text(p), what_text(p), fmt::format("{:.1f}", level),
                          fmt::format("{:.0f}", p.snr_db), percent_text(p.distortion_percent), percent_text(p.wow_percent)});
  }
  page.table(table);
}

std::string logged_tilt_text(const LogEntry& log) {
  std::string text = "not given";
  if (log.tilt_deg) text = degrees_text(*log.tilt_deg, 2);
  if (log.tilt_units) text = fmt::format("{:+g} units of your ruler", *log.tilt_units);
  if (log.tilt_u) text += fmt::format(", with standard uncertainty {:g}{}", *log.tilt_u, log.tilt_units ? " units" : "°");
  return text;
}

void add_balance(Page& page, const Measurement& measured) {
  const std::string balance =
      measured.balance_db && measured.u_balance_db
          ? fmt::format("{} dB (standard uncertainty {} dB)", signed_text(*measured.balance_db, *measured.u_balance_db),
                        uncertainty_text(*measured.u_balance_db))
          : number_text(measured.balance_db, 2, true) + (measured.balance_db ? " dB" : "");
  page.paragraph("The channel balance by levels is " + balance + ". Positive means that the left channel is louder.");
  if (measured.interchannel_phase_deg) {
    page.paragraph("The left channel leads the right channel by " + degrees_text(*measured.interchannel_phase_deg, 2) + ".");
  }
  if (measured.rotation_deg) {
    page.paragraph(
        fmt::format("The crosstalk contains a rotation of {} and a shear of {}. The warp is {}. Azimuth corrects the rotation only.",
                    degrees_text(*measured.rotation_deg, 3), decibels_text(measured.shear_db),
                    measured.warp_deg ? fmt::format("{:.3f}°", *measured.warp_deg) : "n/a"));
  }
}

}  // namespace
}  // namespace evenwall::internal::report

namespace evenwall {

std::string rejected_text(const std::string& capture, const std::vector<RejectedStretch>& rejected) {
  using namespace internal::report;
  Page page(Ink::kPlain);
  page.heading("Tone-like signals rejected in " + internal::base::escaped(capture));
  if (rejected.empty()) page.paragraph("No tone-like signal was rejected.");
  for (const RejectedStretch& r : rejected) {
    page.paragraph(fmt::format("{:.1f}-{:.1f} s, {:.1f} Hz, {}: {}", r.start_s, r.end_s, r.frequency_hz, driven_text(r.driven), r.why),
                   "  - ");
  }
  return page.text();
}

std::string reading_text(const Reading& reading, bool colour) {
  using namespace internal::report;
  Page page(colour ? Ink::kColour : Ink::kPlain);
  page.heading(internal::base::escaped(reading.step.log.capture));
  if (const ReadingError* error = reading.step.error()) {
    page.paragraph("No reading was made: " + internal::base::escaped(error->message));
    return page.text();
  }
  const Measurement& measured = *reading.step.measurement();
  page.paragraph(fmt::format("The recording is {} at {:.1f} kHz and lasts {:.1f} s.", internal::base::escaped(measured.audio.encoding),
                             measured.audio.sample_rate_hz / 1000, measured.audio.duration_s));
  if (measured.audio.sha256) page.paragraph("SHA-256 of its frames: " + *measured.audio.sha256);
  page.paragraph("The logged azimuth (tilt of the cartridge, seen from the front) is " + logged_tilt_text(reading.step.log) + ".");
  page.heading(fmt::format("Crosstalk at {:.1f} Hz", measured.crosstalk.frequency_hz));
  page.table({{{"", "level (gain-free)", "u", "phase", "1/3-octave meter"},
               leak_row("right into left", measured.crosstalk.right_into_left),
               leak_row("left into right", measured.crosstalk.left_into_right)}});
  add_balance(page, measured);
  add_passages(page, measured);
  if (!measured.warnings.empty()) page.heading("Warnings");
  for (const Warning& w : measured.warnings) page.paragraph(enum_name(w.code) + ": " + internal::base::escaped(w.message), "  - ");
  return page.text();
}

}  // namespace evenwall
