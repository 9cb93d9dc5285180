// SPDX-License-Identifier: GPL-3.0-or-later
#include "simulate/simulated_capture.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "simulate/playback.hpp"
#include "simulate/turning.hpp"

namespace evenwall::internal::simulate {
namespace {

constexpr double kLeadMost_s = 0.3;  // recorders never start at the same instant twice
constexpr std::uint64_t kLeadStream = 21;
constexpr std::uint64_t kNoiseStream = 22;
constexpr std::uint64_t kGrooveNoiseStream = 23;

double tone_peak(const SimulatedRecord& record) {
  double loudest_dbfs = -200;
  for (const SimulatedBand& band : record.bands) {
    if (band.band) loudest_dbfs = std::max(loudest_dbfs, band.level_dbfs);
  }
  return amplitude_ratio(loudest_dbfs);
}

SimulatedCartridge unwired(SimulatedCartridge cartridge) {
  cartridge.channels_swapped = cartridge.right_polarity_reversed = false;
  return cartridge;
}

/// Applies wiring faults last in the chain: noise, DC and harmonics of a channel follow its tone.
std::array<double, 2> wired(std::array<double, 2> outputs, const SimulatedCartridge& cartridge) {
  if (cartridge.right_polarity_reversed) outputs[1] = -outputs[1];
  if (cartridge.channels_swapped) std::swap(outputs[0], outputs[1]);
  return outputs;
}

}  // namespace

SimulatedCapture::SimulatedCapture(const Scenario& scenario, std::uint64_t seed, std::size_t step, double true_tilt_deg)
    : scenario_(scenario),
      seed_(seed),
      step_(step),
      tilt_deg_(true_tilt_deg),
      groove_(groove_of(scenario.record, seed)),
      now_{Disturbance(scenario.noise, scenario.sample_rate_hz, tone_peak(scenario.record), Draw{seed, step, kNoiseStream})} {
  Draw draw{seed, step, kLeadStream};
  lead_s_ = draw.uniform(0, kLeadMost_s);
  // Three components of the turntable's speed; together they have the requested rms.
  for (auto& component : flutter_) {
    component = {draw.uniform(4, 11), 0.01 * scenario.record.flutter_percent * std::sqrt(2.0 / 3.0), kTwoPi * draw.unit()};
  }
  frames_ = static_cast<std::int64_t>((lead_s_ + groove_.duration_s) * scenario.sample_rate_hz);
  info_.sample_rate_hz = scenario.sample_rate_hz;
  info_.duration_s = static_cast<double>(frames_) / scenario.sample_rate_hz;
  info_.encoding = "simulated";
  now_.turn = std::polar(1.0, kTwoPi * Draw{seed_, step_, kLeadStream, 1}.unit());
  now_.control = control_at(0);
  marks_.push_back(now_);
}

double SimulatedCapture::flutter_at(double time_s) const {
  double sum = 0;
  for (const auto& [rate_hz, amplitude, phase] : flutter_) sum += amplitude * std::sin(kTwoPi * rate_hz * time_s + phase);
  return sum;
}

SimulatedCapture::Control SimulatedCapture::control_at(std::int64_t frame) {
  const double time_s = static_cast<double>(frame) / scenario_.sample_rate_hz - lead_s_;
  while (now_.band + 1 < groove_.bands.size() && time_s >= groove_.bands[now_.band + 1].start_s) {
    ++now_.band;
    now_.noise.reset();
  }
  const GrooveBand& band = groove_.bands[now_.band];
  const double within_s = time_s - band.start_s;
  if (!band.band.band || within_s < 0) return {};
  const double angle = record_angle_rad(band, scenario_.record, within_s);
  Control control;
  control.noise = is_noise(band.band);
  if (control.noise && !now_.noise) {
    // The noise is locked to the groove: it is the same at every step.
    now_.noise.emplace(band.band.signal == SimulatedSignal::kPinkNoise, Draw{seed_, now_.band, kGrooveNoiseStream});
  }
  control.frequency_hz = cut_frequency_hz(band.band, within_s) * groove_speed(groove_, scenario_.record, angle) * (1 + flutter_at(time_s));
  const double tilt_deg = tilt_deg_ + lean_deg(groove_, scenario_.record, angle);
  const Outputs out =
      chain_outputs(generator_outputs(stylus_motion(band.band.band, scenario_.record), tilt_deg, control.frequency_hz, scenario_.cartridge),
                    control.frequency_hz, unwired(scenario_.cartridge));
  const double peak = amplitude_ratio(band.band.level_dbfs) * fade_at(band.band, within_s);
  control.left = peak * out.left;
  control.right = peak * out.right;
  return control;
}

/// Returns to the last stored state at or before `first`, unless the current state is nearer.
void SimulatedCapture::go_to(std::int64_t first) {
  const State& mark = marks_[std::min(static_cast<std::size_t>(first / kMarkEvery), marks_.size() - 1)];
  if (first < now_.made || mark.made > now_.made) now_ = mark;
}

void SimulatedCapture::make_block() {
  const Control next = control_at(now_.made + kControl);
  // A band that ends within the block fades out with the amplitudes and keeps its frequency.
  const double frequency_hz = now_.control.frequency_hz > 0 && next.frequency_hz > 0
                                  ? 0.5 * (now_.control.frequency_hz + next.frequency_hz)
                                  : std::max(now_.control.frequency_hz, next.frequency_hz);
  const Complex step = std::polar(1.0, kTwoPi * frequency_hz / scenario_.sample_rate_hz);
  const bool noise = (now_.control.noise || next.noise) && now_.noise;
  const double second = 0.01 * scenario_.cartridge.second_harmonic_percent;
  const double third = 0.01 * scenario_.cartridge.third_harmonic_percent;
  for (int i = 0; i < kControl; ++i) {
    const double share = static_cast<double>(i) / kControl;
    auto heard = now_.disturbance.next();
    const Complex squared = times(now_.turn, now_.turn);
    const Complex drive = noise ? now_.noise->next() : now_.turn;
    const double harmonics = noise ? 0.0 : second * squared.real() + third * times(squared, now_.turn).real();
    const Complex from[2] = {now_.control.left, now_.control.right};
    const Complex to[2] = {next.left, next.right};
    for (std::size_t c = 0; c < 2; ++c) {
      const Complex amplitude = from[c] + share * (to[c] - from[c]);
      double tone = times(amplitude, drive).real();
      if (harmonics != 0) tone += std::abs(amplitude) * harmonics;  // std::abs takes longer than all the rest
      heard[c] += tone;
    }
    const auto captured = wired(heard, scenario_.cartridge);
    for (std::size_t c = 0; c < 2; ++c) block_[2 * static_cast<std::size_t>(i) + c] = static_cast<float>(captured[c]);
    now_.turn = times(now_.turn, step);
  }
  now_.turn /= std::abs(now_.turn);
  now_.control = next;
  now_.made += kControl;
  if (now_.made == static_cast<std::int64_t>(marks_.size()) * kMarkEvery) marks_.push_back(now_);
}

std::int64_t SimulatedCapture::read(std::int64_t first, std::int64_t count, float* out) {
  const std::int64_t last = std::min(frames_, first + count);
  if (first >= last) return 0;
  const std::int64_t in_hand = now_.made > 0 ? now_.made - kControl : 0;
  if (first < in_hand || first >= now_.made + kMarkEvery) go_to(first);
  while (now_.made <= first) make_block();
  for (std::int64_t n = first; n < last;) {
    if (n >= now_.made) make_block();
    const std::int64_t offset = n - (now_.made - kControl);
    const std::int64_t take = std::min<std::int64_t>(kControl - offset, last - n);
    std::copy_n(block_.begin() + 2 * offset, 2 * take, out + 2 * (n - first));
    n += take;
  }
  return last - first;
}

}  // namespace evenwall::internal::simulate
