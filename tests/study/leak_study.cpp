// SPDX-License-Identifier: GPL-3.0-or-later
// Determines from audio how accurate one crosstalk ratio and its stated uncertainty are: the figures of docs/accuracy.md.
// Usage: study_leak [captures]. The exit status is 1 if a figure leaves its bounds.
#include <cstdio>
#include <cstdlib>

#include "evenwall/measure.hpp"
#include "evenwall/simulate.hpp"
#include "measure/listen.hpp"
#include "numeric/distributions.hpp"
#include "numeric/revolution.hpp"
#include "support/memory_source.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;
using namespace evenwall::internal::numeric;

namespace {

bool report(bool good, const char* what) {
  std::printf("    %s: %s\n", what, good ? "held" : "NOT HELD");
  std::fflush(stdout);
  return good;
}

/// Counts the intervals that hold the true ratio: warp locked to the groove, clicks 2/s, hum, rumble, wow, surface noise 42 dB below the
/// tone.
bool coverage(double passage_s, int captures, double low, double high) {
  int held = 0, intervals = 0;
  double squares = 0;
  const double factor = student_quantile(0.975, tone_degrees_of_freedom(passage_s));
  for (int i = 0; i < captures; ++i) {
    const auto seed = static_cast<std::uint64_t>(20'000 + i);
    Scenario scenario = random_scenario(seed, passage_s);
    scenario.record.bands.resize(4);  // lead-in, left, pause, right
    scenario.record.bands[0].duration_s = scenario.record.bands[2].duration_s = 0.6;
    scenario.steps.resize(1);
    const SimulatedSession session(scenario, seed);
    MemorySource audio = in_memory(*session.capture(0));
    const Measurement measured = measure(audio, {});
    const auto& truth = session.truth().steps[0];
    const auto count = [&](const ComplexEstimate& e, Complex value) {
      for (const double z : {(e.value - value).real() / e.u_re, (e.value - value).imag() / e.u_im}) {
        ++intervals;
        squares += z * z;
        held += std::abs(z) <= factor ? 1 : 0;
      }
    };
    count(measured.crosstalk.right_into_left->same_passage, truth.right_into_left_same_passage);
    count(measured.crosstalk.left_into_right->same_passage, truth.left_into_right_same_passage);
  }
  const double percent = 100.0 * held / intervals;
  std::printf("  passages of %.1f s: %d intervals, %.2f %% contain the true value, rms of error over u %.3f\n", passage_s, intervals,
              percent, std::sqrt(squares / intervals));
  return report(percent >= low && percent <= high, "share within its bounds");
}

/// Compares the variance with 2σ²/(N·A²) for each part: white noise in the undriven channel, a clean driven tone.
bool efficiency(double passage_s, int captures) {
  const double sigma = 0.01, amplitude = 0.2;
  const Complex leak = std::polar(0.02, 0.7);
  double squares = 0, stated = 0;
  for (int i = 0; i < captures; ++i) {
    rig::Draw draw(static_cast<std::uint64_t>(40'000 + i));
    Canvas canvas(48'000, passage_s + 0.2);
    canvas.tone(0.1, passage_s, 1000, amplitude, amplitude * leak);
    for (std::size_t n = 1; n < canvas.samples.size(); n += 2) canvas.samples[n] += static_cast<float>(sigma * draw.normal());
    auto source = canvas.source();
    const auto heard = listen(source, {Driven::kLeft, 0.1, 0.1 + passage_s, 1000}, 100.0 / 3);
    squares += std::norm(heard->ratio.value - leak) / (2.0 * captures);
    stated += (heard->ratio.u_re * heard->ratio.u_re + heard->ratio.u_im * heard->ratio.u_im) / (2.0 * captures);
  }
  const double bound = 2 * sigma * sigma / (passage_s * 48'000 * amplitude * amplitude);
  std::printf("  passages of %.1f s: %d captures, variance %.3f of the Cramer-Rao bound, stated over actual standard deviation %.3f\n",
              passage_s, captures, squares / bound, std::sqrt(stated / squares));
  return report(squares / bound < 1.15, "variance at most 1.15 of the bound") &&
         report(std::abs(std::sqrt(stated / squares) - 1) < 0.1, "stated standard deviation within 10 %");
}

}  // namespace

int main(int argc, char** argv) {
  const int captures = argc > 1 ? std::atoi(argv[1]) : 1000;
  std::printf("Intervals of a crosstalk ratio, with warp that recurs with the turn, clicks, hum, rumble and wow\n");
  bool good = coverage(4.5, captures, 94, 96);
  // In 1.3 revolutions slow changes that do not recur cannot be excluded, which widens the interval.
  good = coverage(2.4, captures / 2, 93, 98.5) && good;
  std::printf("White noise\n");
  good = efficiency(5.4, captures / 2) && good;
  good = efficiency(2.4, captures / 2) && good;
  return good ? 0 : 1;
}
