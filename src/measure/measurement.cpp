// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "evenwall/error.hpp"
#include "evenwall/measure.hpp"
#include "measure/frequencies.hpp"
#include "measure/method_constants.hpp"
#include "measure/no_answer.hpp"
#include "measure/noise_listen.hpp"
#include "measure/quality.hpp"
#include "measure/separation.hpp"
#include "measure/settings.hpp"
#include "measure/slips.hpp"
#include "measure/sweep_listen.hpp"
#include "measure/tones.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall::internal::measure {
namespace {

void refuse_what_holds_no_tone(const Scan& found) {
  if (found.samples_not_finite > 0 && found.largest_sample == 0) no_answer("no sample is a finite number", "Export it again");
  if (found.frames.empty()) no_answer("the recording is too short to hold a tone", "Capture the whole band");
  if (found.largest_sample == 0) no_answer("the recording is silent", "Check the leads and the recorder's input");
  if (found.channels_identical) no_answer("the two channels are identical, so they show no crosstalk", "Record in stereo");
}

/// Complex gain ratio left over right, from the levels and from a both-channel passage.
struct GainRatio {
  double ln_magnitude = 0;
  double u_ln_magnitude = 0;
  double phase_rad = 0;  // 0 if there is no both-channel passage
};

std::optional<GainRatio> gain_ratio(const AtFrequency& at) {
  if (!at.left || !at.right) return std::nullopt;
  GainRatio gain{at.left->ln_level - at.right->ln_level, std::hypot(at.left->u_ln_level, at.right->u_ln_level), 0};
  if (at.both) gain.phase_rad = std::arg(at.both->ratio.value.real() >= 0 ? at.both->ratio.value : -at.both->ratio.value);
  return gain;
}

Leak leak_of(const CombinedPassages& combined, const std::optional<GainRatio>& gain, double gain_sign) {
  Leak leak;
  leak.same_passage = combined.ratio;
  leak.band_db = combined.band_db;
  if (!gain) return leak;
  const Complex factor = std::exp(gain_sign * Complex(gain->ln_magnitude, gain->phase_rad));
  const Complex x = combined.ratio.value * factor;
  const double cross = combined.ratio.correlation * combined.ratio.u_re * combined.ratio.u_im;
  const double c = factor.real();
  const double s = factor.imag();
  const double re2 = combined.ratio.u_re * combined.ratio.u_re;
  const double im2 = combined.ratio.u_im * combined.ratio.u_im;
  leak.re = x.real();
  leak.im = x.imag();
  leak.u_re = std::sqrt(std::max(0.0, c * c * re2 + s * s * im2 - 2 * c * s * cross));
  leak.u_im = std::sqrt(std::max(0.0, s * s * re2 + c * c * im2 + 2 * c * s * cross));
  if (std::abs(x) > 0) {
    leak.db = decibels(std::abs(x));
    leak.phase_deg = phase_deg(x);
  }
  return leak;
}

LeakPair leaks_of(const AtFrequency& at) {
  const auto gain = gain_ratio(at);
  LeakPair pair;
  pair.frequency_hz = at.frequency_hz;
  if (at.right) pair.right_into_left = leak_of(*at.right, gain, -1.0);
  if (at.left) pair.left_into_right = leak_of(*at.left, gain, +1.0);
  return pair;
}

/// The result at the requested frequency, or else near 1 kHz. Results with both driven channels take precedence, then tones over sweeps and
/// noise, then the nearest.
AtFrequency choose(const std::vector<AtFrequency>& all, const std::vector<HeardBands>& bands, OptionalNumber asked_hz) {
  const auto distance = [&](const AtFrequency& a) { return std::abs(std::log(a.frequency_hz / asked_hz.value_or(kWantedFrequency_hz))); };
  const auto worse = [&](const AtFrequency& a, const AtFrequency& b) {
    const int sides_a = (a.left ? 1 : 0) + (a.right ? 1 : 0);
    const int sides_b = (b.left ? 1 : 0) + (b.right ? 1 : 0);
    if (sides_a != sides_b) return sides_a > sides_b;
    return a.tone != b.tone ? a.tone : distance(a) < distance(b);
  };
  std::vector<AtFrequency> candidates;
  for (const AtFrequency& a : all) {
    if (!a.left && !a.right) continue;
    if (!asked_hz || (a.tone && std::abs(a.frequency_hz - *asked_hz) <= kFrequencyMatch * *asked_hz)) candidates.push_back(a);
  }
  if (asked_hz) {
    if (auto place = band_place(bands, *asked_hz)) candidates.push_back(*place);
  }
  if (candidates.empty() && asked_hz) refuse_frequency(all, *asked_hz);
  if (candidates.empty()) {
    no_answer("every tone drives both channels at once, so no crosstalk can be measured",
              "Play the left-only and right-only bands, and check that the recorder records in stereo");
  }
  return *std::min_element(candidates.begin(), candidates.end(), worse);
}

/// Adds the requested frequency to the spectrum, so that a session can be solved there.
void add_place(std::vector<AtFrequency>& all, const AtFrequency& chosen) {
  const auto after = std::find_if(all.begin(), all.end(), [&](const AtFrequency& a) { return a.frequency_hz >= chosen.frequency_hz; });
  if (!chosen.tone && (after == all.end() || after->frequency_hz != chosen.frequency_hz)) all.insert(after, chosen);
}

void refuse_clipped(double clipped_fraction, double start_s) {
  if (clipped_fraction <= kClippedHard) return;
  no_answer(fmt::format("{:.1f} % of the samples of the passage at {:.1f} s are clipped", 100 * clipped_fraction, start_s),
            "Lower the recording level and capture it again");
}

/// Throws because no passage was found. Names clipping if a rejected stretch is clipped, because a tone that is clipped throughout has the
/// harmonics of a square wave.
[[noreturn]] void refuse_silence(const std::vector<RejectedStretch>& rejected) {
  for (const RejectedStretch& r : rejected) refuse_clipped(r.clipped_fraction, r.start_s);
  no_answer("no test tone was found", "Check that it holds the tone bands and that their level is right");
}

void drop_worthless(const std::vector<HeardPassage>& heard) {
  for (const HeardPassage& p : heard) {
    refuse_clipped(p.clipped_fraction, p.passage.start_s);
    if (p.not_finite_fraction > kNotFiniteMost) {
      no_answer(fmt::format("{:.1f} % of the samples at {:.1f} s are not finite numbers", 100 * p.not_finite_fraction, p.passage.start_s),
                "Export it again");
    }
  }
}

void set_rotation(Measurement& measured, const AtFrequency& at) {
  const auto& rl = measured.crosstalk.right_into_left;
  const auto& lr = measured.crosstalk.left_into_right;
  if (!rl || !lr || !rl->re || !lr->re) return;
  const Complex x_rl(*rl->re, *rl->im), x_lr(*lr->re, *lr->im);
  measured.rotation_deg = degrees(std::atan(0.5 * (x_rl - x_lr).real()));
  const double shear = std::abs(0.5 * (x_rl + x_lr));
  if (shear > 0) measured.shear_db = decibels(shear);
  measured.warp_deg = degrees(std::sqrt(at.left->warp_mean_square + at.right->warp_mean_square));
}

void set_balance(Measurement& measured, const AtFrequency& at) {
  if (const auto gain = gain_ratio(at)) {
    measured.balance_db = gain->ln_magnitude * kDbPerNeper;
    measured.u_balance_db = gain->u_ln_magnitude * kDbPerNeper;
    if (at.both) measured.interchannel_phase_deg = degrees(gain->phase_rad);
  }
}

/// The passages of tones, sweeps and noise together, in time order.
std::vector<HeardPassage> all_passages(const std::vector<HeardPassage>& tones, const std::vector<HeardBands>& bands) {
  std::vector<HeardPassage> all = tones;
  for (const HeardBands& b : bands) all.push_back(b.overall);
  std::stable_sort(all.begin(), all.end(),
                   [](const HeardPassage& a, const HeardPassage& b) { return a.passage.start_s < b.passage.start_s; });
  return all;
}

/// The median over the tones, so that one passage with a fault does not decide.
OptionalNumber typical_pitch_wander(const std::vector<HeardPassage>& tones) {
  std::vector<double> wanders;
  for (const HeardPassage& tone : tones) {
    if (tone.pitch_wander_percent) wanders.push_back(*tone.pitch_wander_percent);
  }
  return wanders.empty() ? std::nullopt : OptionalNumber(numeric::median(std::move(wanders)));
}

void warn_of_doubtful_warp(Measurement& measured, const std::vector<HeardBands>& bands) {
  double largest_deg = 0;
  for (const HeardBands& b : bands) largest_deg = std::max(largest_deg, b.doubtful_warp_deg.value_or(0));
  if (largest_deg == 0) return;
  measured.warnings.push_back(
      {WarningCode::kWarpOrResonance,
       fmt::format("the crosstalk of a sweep changes by {:.3f}° once per revolution, and its response bends as fast, so warp and "
                   "resonance look alike. The change is subtracted, and each uncertainty includes it. Measure a tone of two revolutions.",
                   largest_deg)});
}

void set_warnings(Measurement& measured, const std::vector<HeardPassage>& heard, const AtFrequency& chosen, const MeasureOptions& options,
                  std::size_t tones) {
  measured.warnings = passage_warnings(heard);
  const auto add = [&](WarningCode code, const std::string& message) { measured.warnings.push_back({code, message}); };
  for (const HeardPassage& p : heard) {
    if (p.not_finite_fraction == 0) continue;
    add(WarningCode::kNotFinite, fmt::format("{:.2g} % of the samples of the passage at {:.1f} s are not finite numbers. They are "
                                             "excluded, with the signal that they affect. Export the recording again.",
                                             100 * p.not_finite_fraction, p.passage.start_s));
  }
  for (Warning& w : order_warnings(heard, options.bands)) measured.warnings.push_back(std::move(w));
  if (auto several = several_settings(heard)) measured.warnings.push_back(std::move(*several));
  for (Warning& w : separation_warnings(measured.crosstalk)) measured.warnings.push_back(std::move(w));
  if (!chosen.left || !chosen.right) {
    add(WarningCode::kMissingPassage,
        fmt::format("no {}-only passage at {:.1f} Hz was found. Crosstalk is measured in one direction only. Capture that band too.",
                    chosen.left ? "right" : "left", chosen.frequency_hz));
  }
  if (!options.frequency_hz && chosen.tone && tones > 1) {
    add(WarningCode::kFrequencyChosen,
        fmt::format("{} tones were found. {:.1f} Hz is used: the tone nearest 1 kHz{}. Use --frequency to choose another.", tones,
                    chosen.frequency_hz, chosen.left && chosen.right ? " that both channels have" : ""));
  }
}

/// All passages and rejected stretches of a capture.
struct HeardCapture {
  std::vector<HeardPassage> tones;
  std::vector<HeardBands> bands;
  std::vector<RejectedStretch> rejected;
};

bool lies_in(const Passage& tone, const std::vector<Span>& spans) {
  const double middle_s = 0.5 * (tone.start_s + tone.end_s);
  return std::any_of(spans.begin(), spans.end(), [&](const Span& s) { return middle_s >= s.start_s && middle_s <= s.end_s; });
}

HeardCapture hear(AudioSource& source, const MeasureOptions& options) {
  OctaveScan octaves;
  octaves.reserve(most_looks(source));
  ToneHearing hearing(source, options.rpm);
  const Scan found = scan(source, options.from_s, options.to_s, [&](const ScanFrame& frame, const OctaveFrame& its_octaves) {
    octaves.add(frame.middle_s, its_octaves);
    hearing.add(frame);
  });
  refuse_what_holds_no_tone(found);
  HeardTones tones = hearing.finish();
  HeardCapture heard;
  std::vector<Span> taken;
  for (const SweepStretch& stretch : find_sweeps(found, source.info().sample_rate_hz)) {
    auto bands = listen_to_sweep(source, stretch, options.rpm.value_or(kNominalRpm));
    if (!bands) continue;
    taken.push_back({bands->overall.passage.start_s, bands->overall.passage.end_s});
    heard.bands.push_back(std::move(*bands));
  }
  heard.rejected = std::move(tones.rejected);
  for (HeardPassage& tone : tones.passages) {
    if (!lies_in(tone.passage, taken)) heard.tones.push_back(std::move(tone));
  }
  for (const HeardPassage& p : heard.tones) taken.push_back({p.passage.start_s, p.passage.end_s});
  for (const NoiseStretch& stretch : find_noise(octaves, taken)) {
    if (auto bands = listen_to_noise(source, stretch, options.rpm.value_or(kNominalRpm))) heard.bands.push_back(std::move(*bands));
  }
  return heard;
}

}  // namespace
}  // namespace evenwall::internal::measure

namespace evenwall {

Measurement measure(AudioSource& source, const MeasureOptions& options) {
  using namespace internal::measure;
  const HeardCapture heard = hear(source, options);
  const auto passages = all_passages(heard.tones, heard.bands);
  if (passages.empty()) refuse_silence(heard.rejected);
  drop_worthless(passages);
  auto all = heard_frequencies(heard.tones, heard.bands);
  const AtFrequency chosen = choose(all, heard.bands, options.frequency_hz);
  add_place(all, chosen);

  Measurement measured;
  measured.audio = source.info();
  measured.audio.duration_s = static_cast<double>(source.frames()) / measured.audio.sample_rate_hz;
  for (const HeardPassage& p : passages) measured.passages.push_back(p.passage);
  measured.pitch_wander_percent = typical_pitch_wander(heard.tones);
  measured.crosstalk = leaks_of(chosen);
  for (const AtFrequency& at : all) {
    if (at.left || at.right) measured.crosstalk_spectrum.push_back(leaks_of(at));
  }
  set_balance(measured, chosen);
  set_rotation(measured, chosen);
  const auto tones = std::count_if(all.begin(), all.end(), [](const AtFrequency& a) { return a.tone; });
  set_warnings(measured, passages, chosen, options, static_cast<std::size_t>(tones));
  warn_of_doubtful_warp(measured, heard.bands);
  for (Warning& w : slip_warnings(channel_slips(source, heard.tones))) measured.warnings.push_back(std::move(w));
  return measured;
}

}  // namespace evenwall
