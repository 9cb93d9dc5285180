// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/sample_step.hpp"

#include "measure/listen.hpp"
#include "measure/lock_in.hpp"
#include "support/catch.hpp"
#include "support/memory_source.hpp"
#include "support/rig.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

double step_of(const std::vector<float>& stereo) {
  SampleStep step;
  step.add(stereo.data(), static_cast<std::int64_t>(stereo.size() / 2));
  return step.size();
}

void round_to(std::vector<float>& samples, double bits) {
  const double full = std::exp2(bits - 1);
  for (float& x : samples) x = static_cast<float>(std::round(static_cast<double>(x) * full) / full);
}

}  // namespace

TEST_CASE("The step is the number of which all samples are multiples") {
  for (const double bits : {16.0, 20.0, 24.0}) {
    Canvas canvas(48000, 0.2);
    canvas.tone(0, 0.2, 1000, 0.2, 0.001);
    round_to(canvas.samples, bits);
    CHECK(step_of(canvas.samples) == std::exp2(1 - bits));
  }
  Canvas floats(48000, 0.2);
  CHECK(step_of(floats.tone(0, 0.2, 1000, 0.2, 0.001).samples) == 0);
  CHECK(step_of(Canvas(48000, 0.2).samples) == 0);  // silence
  std::vector<float> odd(4000, 0.25F);
  odd[7] = std::numeric_limits<float>::quiet_NaN();
  odd[9] = std::numeric_limits<float>::infinity();
  odd[11] = 1e30F;
  CHECK(step_of(odd) == 0.25);
}

TEST_CASE("The uncertainty of rounding covers the errors that rounding causes in tones of any amplitude") {
  CHECK_THAT(step_uncertainty(1, 0, 0), WithinAbs(0.2887, 1e-4));  // uniform within half a step either way
  CHECK(step_uncertainty(0, 0.1, 0) == 0);
  CHECK(step_uncertainty(1, std::sqrt(1.0 / 12), 0) == step_uncertainty(1, 0, 0));  // the rounding's own noise is no dither
  CHECK(step_uncertainty(1, std::hypot(0.5, std::sqrt(1.0 / 12)), 0) < 0.0075 * 0.2887);
  CHECK(step_uncertainty(1, 1.5, 0) == 0);
  // Computes the amplitude of the rounded tone by projection, over a whole number of periods with phases that do not repeat.
  double worst = 0;
  for (double size = 0.02; size < 6; size += 0.02) {
    double sum = 0;
    constexpr int kSamples = 20011;
    for (int n = 0; n < kSamples; ++n) {
      const double c = std::cos(2 * 3.14159265358979323846 * 997 * n / kSamples);
      sum += std::round(size * c) * c;
    }
    worst = std::max(worst, std::abs(2 * sum / kSamples - size));
  }
  CHECK(worst > 0.4);
  CHECK(worst <= std::sqrt(3.0) * step_uncertainty(1, 0, 0) + 0.01);  // half a step is the edge of the uniform distribution
}

TEST_CASE("The noise of a channel is that beside its tone, and clicks, fades and values that are not finite hardly count") {
  rig::Draw draw(78);
  std::vector<float> block(8192);
  for (std::size_t n = 0; n < 4096; ++n) {
    block[2 * n] = static_cast<float>(0.5 * std::cos(0.13 * static_cast<double>(n)) + 0.01 * draw.normal() + 0.2);
    block[2 * n + 1] = static_cast<float>(0.001 * draw.normal());
  }
  for (std::size_t n = 0; n < 40; ++n) block[2 * (300 + n) + 1] = 0.9F;
  block[5001] = std::numeric_limits<float>::quiet_NaN();
  SampleStep step;
  step.add(block.data(), 1000);
  step.add(block.data() + 2000, 3096);
  CHECK_THAT(step.noise(0, 0.13), WithinRel(0.01, 0.05));
  CHECK_THAT(step.noise(1, 0.13), WithinRel(0.001, 0.05));
  CHECK(SampleStep().noise(0, 0.13) == 0);
}

TEST_CASE("The uncertainty of rounding covers the errors with any noise before the rounding, as seen in the rounded samples") {
  rig::Draw draw(77);
  constexpr int kSamples = 20011;
  for (const double dither : {0.0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.6}) {
    double squares = 0, uncertainty = 0;
    int sizes = 0;
    for (double size = 0.05; size < 4; size += 0.05, ++sizes) {
      std::vector<double> rounded(kSamples);
      double sum = 0;
      const auto tone = [](int n) { return std::cos(2 * 3.14159265358979323846 * 997 * n / kSamples); };
      for (int n = 0; n < kSamples; ++n) sum += (rounded[n] = std::round(size * tone(n) + dither * draw.normal())) * tone(n);
      const double found = 2 * sum / kSamples;
      double left = 0;
      for (int n = 0; n < kSamples; ++n) left += std::pow(rounded[n] - found * tone(n), 2);
      squares += std::pow(found - size, 2);
      uncertainty += std::pow(step_uncertainty(1, std::sqrt(left / kSamples), size), 2) + 2 * left / kSamples / kSamples;
    }
    INFO("dither " << dither << ": rms error " << std::sqrt(squares / sizes) << ", u " << std::sqrt(uncertainty / sizes));
    CHECK(squares < 1.3 * uncertainty);
  }
}

TEST_CASE("Uncertainties are added as squares, and the covariance of the two parts does not change") {
  ComplexEstimate e{{1, 2}, 3, 4, 0.5};
  enlarge(e, 4);
  CHECK_THAT(e.u_re, WithinRel(5.0, 1e-15));
  CHECK_THAT(e.correlation * e.u_re * e.u_im, WithinRel(6.0, 1e-14));
  ComplexEstimate none;
  enlarge(none, 2);
  CHECK(none.u_im == 2);
  CHECK(none.correlation == 0);
}

TEST_CASE("The noise of the samples is computed from the noise of a lock-in frame") {
  Canvas canvas(48000, 4);
  canvas.noise(0.01, 11);
  LockIn lock_in(48000, 1000, 0);
  const std::size_t hop = lock_in.hop_frames();
  for (std::size_t at = 0; at + hop <= canvas.samples.size() / 2; at += hop) lock_in.add_hop(canvas.samples.data() + 2 * at);
  double power = 0;
  const auto frames = lock_in.frames();
  for (const Complex& z : frames.left) power += 0.5 * std::norm(z) / static_cast<double>(frames.left.size());
  CHECK_THAT(noise_of_samples(std::sqrt(power), 4.0 * static_cast<double>(hop)), WithinAbs(0.01, 0.001));  // about 370 free values: 4 %
}

TEST_CASE("Crosstalk below one rounding step has the uncertainty of rounding, and its magnitude in steps is reported") {
  const auto heard_of = [](double leak, double noise) {
    Canvas canvas(48000, 5);
    canvas.tone(0.5, 4, 1000, 0.25, 0.25 * leak).noise(noise, 3);
    round_to(canvas.samples, 16);
    auto source = canvas.source();
    const auto heard = listen(source, {Driven::kLeft, 0.5, 4.5, 1000}, 100.0 / 3);
    REQUIRE(heard);
    return *heard;
  };
  constexpr double kStep = 1.0 / 32768 / 0.25;  // relative to the driven channel
  const HeardPassage zero = heard_of(1e-5, 0);  // a twelfth of a step
  CHECK(zero.ratio.value == Complex(0, 0));
  CHECK_THAT(zero.ratio.u_re, WithinRel(kStep / std::sqrt(12.0), 0.01));
  REQUIRE(zero.quiet_steps);
  CHECK(*zero.quiet_steps == 0);
  const HeardPassage small = heard_of(0.8 * kStep, 0);
  CHECK(std::abs(small.ratio.value - 0.8 * kStep) < std::sqrt(3.0) * small.ratio.u_re);
  REQUIRE(small.quiet_steps);
  CHECK(small.clipped_fraction == 0);  // a tone of plus and minus one step is flat but not clipped
  const HeardPassage dithered = heard_of(0.8 * kStep, 1.0 / 32768);
  CHECK_FALSE(dithered.quiet_steps);
  CHECK(std::abs(dithered.ratio.value - 0.8 * kStep) < 3 * dithered.ratio.u_re);
  CHECK_FALSE(heard_of(0.03, 0).quiet_steps);  // 245 steps: the rounding shows in the fifth digit
}
