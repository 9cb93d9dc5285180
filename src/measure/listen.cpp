// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/listen.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "measure/declick.hpp"
#include "measure/inner_frames.hpp"
#include "measure/lean_constants.hpp"
#include "measure/lean_fit.hpp"
#include "measure/lock_in.hpp"
#include "measure/long_passages.hpp"
#include "measure/method_constants.hpp"
#include "measure/pitch_wander.hpp"
#include "measure/sample_step.hpp"
#include "measure/slips.hpp"
#include "measure/steadiness.hpp"
#include "measure/tone_spectrum.hpp"
#include "numeric/counts.hpp"
#include "numeric/lanes.hpp"
#include "numeric/revolution.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall::internal::measure {
namespace {

/// Results of one pass over the samples.
struct HeardTone {
  LockInFrames lock_in;
  ToneSpectrum spectrum;
  SampleFaults left, right;
  SilentRuns silence;
  SampleStep step;
  double frame_samples = 0;  // length of a lock-in frame
};

/// First stereo frame to read, and the frame after the last one.
std::pair<std::int64_t, std::int64_t> reach_of(const AudioSource& source, const ToneStretch& stretch) {
  const double rate = source.info().sample_rate_hz;
  const auto first = static_cast<std::int64_t>(std::max(0.0, std::floor((stretch.start_s - kListenReach_s) * rate)));
  const auto last = std::min(source.frames(), static_cast<std::int64_t>(std::ceil((stretch.end_s + kListenReach_s) * rate)));
  return {first, last};
}

HeardTone hear(AudioSource& source, const ToneStretch& stretch) {
  const double rate = source.info().sample_rate_hz;
  const auto [first, last] = reach_of(source, stretch);
  LockIn lock_in(rate, stretch.frequency_hz, static_cast<double>(first) / rate);
  HeardTone heard{{}, ToneSpectrum(rate, stretch.frequency_hz, stretch.driven),     {},
                  {}, SilentRuns(least_silence_frames(rate, stretch.frequency_hz)), {}};
  const std::size_t hop = lock_in.hop_frames();
  const std::size_t block_frames = (heard.spectrum.frame_size() + hop - 1) / hop * hop;
  std::vector<float> block(2 * block_frames);
  const auto whole_blocks = static_cast<std::size_t>(last - first) / block_frames;
  const std::size_t blocks_to_a_spectrum = numeric::stride_for(whole_blocks, kEnoughSpectra);
  std::size_t blocks = 0;
  for (std::int64_t position = first; position < last;) {
    const auto wanted = std::min<std::int64_t>(static_cast<std::int64_t>(block_frames), last - position);
    const auto got = static_cast<std::size_t>(source.read(position, wanted, block.data()));
    for (std::size_t done = 0; done < got; done += hop) {
      const float* at = block.data() + 2 * done;
      const std::size_t here = std::min(hop, got - done);
      const numeric::StereoLevels levels = here == hop ? lock_in.add_hop(at) : numeric::fastest_kernels().levels(at, here);
      heard.left.add_block(at, here, 2, levels.sum[0], levels.largest[0], levels.finite);
      heard.right.add_block(at + 1, here, 2, levels.sum[1], levels.largest[1], levels.finite);
    }
    const double middle_s = (static_cast<double>(position) + 0.5 * static_cast<double>(got)) / rate;
    const bool inside = middle_s > stretch.start_s + kListenReach_s + 0.5 * static_cast<double>(got) / rate &&
                        middle_s < stretch.end_s - kListenReach_s - 0.5 * static_cast<double>(got) / rate;
    if (inside && got >= heard.spectrum.frame_size() && blocks++ % blocks_to_a_spectrum == 0) heard.spectrum.add_frame(block.data());
    heard.step.add(block.data(), static_cast<std::int64_t>(got));
    heard.silence.add(position, block.data(), static_cast<std::int64_t>(got));
    if (got < static_cast<std::size_t>(wanted) || got < hop) break;
    position += static_cast<std::int64_t>(got / hop * hop);
  }
  heard.lock_in = std::move(lock_in).frames();
  heard.frame_samples = static_cast<double>(4 * hop);
  return heard;
}

/// Every `stride`-th value.
template <typename Value>
std::vector<Value> every(const std::vector<Value>& values, std::size_t stride) {
  std::vector<Value> some;
  some.reserve((values.size() + stride - 1) / stride);
  for (std::size_t i = 0; i < values.size(); i += stride) some.push_back(values[i]);
  return some;
}

Eigen::VectorXcd as_vector(const std::vector<Complex>& values) {
  return Eigen::Map<const Eigen::VectorXcd>(values.data(), static_cast<Eigen::Index>(values.size()));
}

struct Speed {
  double frequency_hz;
  OptionalNumber wow_percent;
};

/// Times of the rows of a fit, and the fitted terms at these times.
struct Rows {
  std::vector<double> middle_s;
  Eigen::MatrixXd terms;
  std::size_t block = 1;  // rows per block of influence
};

/// Builds the rows of a fit with terms that recur with the turning of the record.
class Turning {
 public:
  Turning(const InnerFrames& inner, double rpm)
      : middle_s_(0.5 * (inner.start_s + inner.end_s)),
        rpm_(rpm),
        harmonics_(numeric::revolution_harmonics((inner.middle_s.back() - inner.middle_s.front()) * rpm / 60.0)) {}
  [[nodiscard]] bool whole_revolution() const { return harmonics_ > 0; }
  [[nodiscard]] Rows rows(std::vector<double> times_s, double hop_s) const {
    Rows rows{std::move(times_s), {}, 1};
    rows.terms = numeric::revolution_terms(rows.middle_s, middle_s_, rpm_, harmonics_);
    rows.block =
        numeric::rows_per_block(rows.middle_s.size(), numeric::kInfluenceBlock_s / hop_s, static_cast<std::size_t>(rows.terms.cols()));
    return rows;
  }

 private:
  double middle_s_;
  double rpm_;
  int harmonics_;
};

/// The tone's frequency and its once-per-revolution variation, from the phase that the driven channel gains from frame to frame.
Speed speed_of(const InnerFrames& inner, const Turning& turning, double oscillator_hz, double hop_s) {
  std::vector<Complex> hertz;
  std::vector<double> times_s;
  const std::size_t stride = numeric::stride_for(inner.driven.size(), kEnoughSpeeds);
  for (std::size_t f = 1; f < inner.driven.size(); f += stride) {
    const double gap_s = inner.middle_s[f] - inner.middle_s[f - 1];
    if (gap_s > 1.5 * hop_s) continue;
    hertz.emplace_back(std::arg(inner.driven[f] * std::conj(inner.driven[f - 1])) / (2.0 * std::numbers::pi * gap_s), 0.0);
    times_s.push_back(inner.middle_s[f]);
  }
  if (times_s.size() < kLeastFrames) return {oscillator_hz, std::nullopt};
  const Rows rows = turning.rows(std::move(times_s), hop_s * static_cast<double>(stride));
  const auto fit =
      numeric::fit_robust(Eigen::VectorXcd::Ones(rows.terms.rows()), as_vector(hertz), rows.terms, rows.block, numeric::Scatter::kReal);
  const double frequency_hz = oscillator_hz + fit.coefficients[0].real();
  if (rows.terms.cols() < 3) return {frequency_hz, std::nullopt};
  return {frequency_hz, 100.0 * std::hypot(fit.coefficients[1].real(), fit.coefficients[2].real()) / frequency_hz};
}

void set_level(HeardPassage& heard, const std::vector<Complex>& driven, const Rows& rows) {
  std::vector<Complex> sizes;
  for (const Complex& z : driven) sizes.emplace_back(std::abs(z), 0.0);
  const auto fit =
      numeric::fit_robust(Eigen::VectorXcd::Ones(rows.terms.rows()), as_vector(sizes), rows.terms, rows.block, numeric::Scatter::kReal);
  const double amplitude = fit.coefficients[0].real();
  heard.ln_level = std::log(amplitude);
  heard.u_ln_level = std::sqrt(fit.covariance(0, 0)) / amplitude;
  const double other = amplitude * std::abs(heard.ratio.value);
  const bool left_driven = heard.passage.driven == Driven::kLeft;
  heard.passage.level_left_dbfs = decibels(left_driven ? amplitude : other);
  heard.passage.level_right_dbfs = decibels(left_driven ? other : amplitude);
}

ComplexEstimate estimate_from(const LeanFit& fit) {
  const Eigen::Matrix2d covariance = fit.noise + fit.groove;
  const double u_re = std::sqrt(covariance(0, 0));
  const double u_im = std::sqrt(covariance(1, 1));
  return {fit.value, u_re, u_im, u_re * u_im > 0 ? covariance(0, 1) / (u_re * u_im) : 0.0, std::sqrt(fit.groove.trace())};
}

/// Sets the faults of a tone's samples. Without noise, a low or slow tone has flat tops from rounding, which do not count as clipped.
void set_tone_faults(HeardPassage& heard, const HeardTone& samples, double turn_rad) {
  set_faults(heard, samples.left, samples.right);
  const auto clipped = [&](const SampleFaults& f) {
    const double step = samples.step.size();
    if (!(f.largest() > kFewFileSteps * step)) return 0.0;
    return f.clipped_fraction(kPlateauReserve * longest_plateau(f.largest(), step, turn_rad));
  };
  heard.clipped_fraction = std::max(clipped(samples.left), clipped(samples.right));
}

/// A tone in the samples: which channel is driven, its amplitude, and its phase per sample.
struct ToneTurn {
  Driven driven;
  double amplitude;
  double turn_rad;
};

/// Adds the uncertainty that rounding causes in the undriven channel if no noise dithers it.
void add_step(HeardPassage& heard, const HeardTone& samples, const ToneTurn& tone, double frame_part_noise) {
  const double step = samples.step.size() / tone.amplitude;
  if (!(step > 0)) return;
  // The noise near the tone also contains what rounding makes of a tone with wow. It cannot dither more than the noise of the samples does.
  const double near_tone = noise_of_samples(frame_part_noise, samples.frame_samples);
  if (near_tone > samples.step.size()) return;
  const std::size_t undriven = tone.driven == Driven::kLeft ? 1 : 0;
  const double of_samples = samples.step.noise(undriven, tone.turn_rad);
  const double u = step_uncertainty(step, std::min(near_tone, of_samples) / tone.amplitude, std::abs(heard.ratio.value));
  heard.u_rounding = u;
  if (u > 0) enlarge(heard.ratio, u);
  if (u > kStepWorthTelling * std::abs(heard.ratio.value)) heard.quiet_steps = std::abs(heard.ratio.value) / step;
}

/// Data of a stretch, and the fit of its crosstalk ratio.
struct Fitted {
  HeardTone samples;
  InnerFrames inner;
  LeanFit fit;
};

std::optional<Fitted> fitted(AudioSource& source, const ToneStretch& stretch, OptionalNumber rpm) {
  HeardTone samples = hear(source, stretch);
  auto inner = inner_frames(samples.lock_in, stretch);
  if (!inner) return std::nullopt;
  LeanFit fit = fit_lean(course_of(*inner, samples.lock_in.hop_s), possible_speeds(rpm));
  return Fitted{std::move(samples), std::move(*inner), fit};
}

/// Fits a stretch. If clicks spoil much of it, removes them from the samples and fits it again.
std::optional<Fitted> fitted_through_crackle(AudioSource& source, const ToneStretch& stretch, OptionalNumber rpm) {
  auto plain = fitted(source, stretch, rpm);
  if (!plain || plain->fit.rejected_fraction + plain->inner.lost_fraction < kManyClicks) return plain;
  const bool finite = plain->samples.left.not_finite() + plain->samples.right.not_finite() == 0;
  if (stretch.end_s - stretch.start_s > kLongestDeclicked_s || !finite) return plain;
  const auto [first, last] = reach_of(source, stretch);
  DeclickedStretch clean(source, first, last, stretch.frequency_hz);
  auto again = fitted(clean, stretch, rpm);
  if (!again) return plain;
  again->samples.step = plain->samples.step;  // samples in place of a click are not multiples of the file's step
  return again;
}

/// Measures a stretch in one part, except for the hum.
std::optional<HeardPassage> listen_at_once(AudioSource& source, const ToneStretch& stretch, OptionalNumber rpm) {
  const auto found = fitted_through_crackle(source, stretch, rpm);
  if (!found) return std::nullopt;
  const auto& [samples, inner, fit] = *found;
  const Turning turning(inner, fit.rpm);

  HeardPassage heard;
  heard.whole_revolution = turning.whole_revolution();
  const bool nominal = std::abs(fit.rpm / kNominalRpm - 1) < 2 * kMostSpeedError;
  if (!rpm && !nominal && fit.rpm_share > kSpeedSure) heard.found_rpm = fit.rpm;
  heard.ratio = estimate_from(fit);
  const double turn_rad = 2 * std::numbers::pi * stretch.frequency_hz / source.info().sample_rate_hz;
  add_step(heard, samples, {stretch.driven, inner.amplitude, turn_rad}, fit.residual_scale * inner.amplitude);
  if (heard.whole_revolution) heard.once_per_revolution = fit.once_per_revolution;
  heard.rejected_fraction = fit.rejected_fraction;
  heard.lost_fraction = inner.lost_fraction;
  heard.band_db = samples.spectrum.band_db();
  set_tone_faults(heard, samples, turn_rad);
  heard.silences = silences_between(samples.silence.runs(), source.info().sample_rate_hz, inner.start_s, inner.end_s);
  heard.phase_jumps = jumps_between(samples.lock_in, stretch.driven, inner.start_s, inner.end_s);

  if (stretch.driven == Driven::kBoth) heard.delay_jump_s = delay_jump_s(inner, stretch.frequency_hz, source.info().sample_rate_hz);

  Passage& passage = heard.passage;
  passage.driven = stretch.driven;
  if (stretch.driven == Driven::kBoth) passage.relation = heard.ratio.value.real() >= 0 ? Relation::kInPhase : Relation::kAntiphase;
  passage.start_s = inner.start_s;
  passage.end_s = inner.end_s;
  const Speed speed = speed_of(inner, turning, stretch.frequency_hz, samples.lock_in.hop_s);
  passage.frequency_hz = speed.frequency_hz;
  passage.wow_percent = speed.wow_percent;
  heard.pitch_wander_percent = pitch_wander_percent(inner.middle_s, inner.driven, samples.lock_in.hop_s, speed.frequency_hz);
  passage.snr_db = samples.spectrum.snr_db().value_or(0.0);
  passage.distortion_percent = samples.spectrum.distortion_percent();
  passage.third_harmonic_percent = samples.spectrum.third_harmonic_percent();
  const std::size_t stride = inner.driven.size() > kFramesToSpare ? 2 : 1;
  set_level(heard, every(inner.driven, stride),
            turning.rows(every(inner.middle_s, stride), samples.lock_in.hop_s * static_cast<double>(stride)));
  const TrueLevels levels = true_levels(inner.middle_s, inner.driven);
  heard.level_wander_db = level_wander_db(levels, samples.lock_in.hop_s);
  heard.level_step = level_step(levels);
  return heard;
}

}  // namespace

void set_faults(HeardPassage& heard, const SampleFaults& left, const SampleFaults& right) {
  const auto total = static_cast<double>(std::max<std::int64_t>(1, left.samples() + right.samples()));
  heard.clipped_fraction = std::max(left.clipped_fraction(), right.clipped_fraction());
  heard.dc = std::abs(left.mean()) > std::abs(right.mean()) ? left.mean() : right.mean();
  heard.not_finite_fraction = static_cast<double>(left.not_finite() + right.not_finite()) / total;
}

std::optional<HeardPassage> listen(AudioSource& source, const ToneStretch& stretch, OptionalNumber rpm) {
  std::vector<HeardPassage> parts;
  for (const auto& [start_s, end_s] : parts_of(stretch.start_s, stretch.end_s)) {
    auto part = listen_at_once(source, {stretch.driven, start_s, end_s, stretch.frequency_hz}, rpm);
    if (part) parts.push_back(std::move(*part));
  }
  if (parts.empty()) return std::nullopt;
  HeardPassage heard = joined(std::move(parts));
  heard.hum = hum_beside(source, heard.passage.start_s, heard.passage.end_s, *heard.passage.frequency_hz);
  return heard;
}

}  // namespace evenwall::internal::measure
