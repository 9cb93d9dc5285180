// SPDX-License-Identifier: GPL-3.0-or-later
// Checks errors of a cross-spectral estimate and the Cramér–Rao bound of a ratio of two channels by simulation with the program's own
// estimators.
#include <fmt/format.h>

#include <cmath>
#include <complex>
#include <limits>

#include "measure/lock_in.hpp"
#include "numeric/fft.hpp"
#include "numeric/robust_regression.hpp"
#include "support/catch.hpp"
#include "support/rig.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;
using namespace evenwall::internal::numeric;
using C = std::complex<double>;

namespace {

constexpr std::size_t kSize = 256;

struct Errors {
  double gain = 0, phase_rad = 0, coherence = 0, coherence_bias = 0;  // standard deviations; the gain's is relative
  double stated = 0;                                                  // rms of the fit's own standard deviation of a part, relative
};

/// Feeds white noise with coherence g2 into both channels. Spectra are by StereoSpectrum. The ratio of right over left is by fit_robust
/// with its robustness off (then it is H1 = ΣL*R/Σ|L|²), over `averages` frames. Bins four apart are independent with Hann's window.
Errors simulate(double g2, int averages, int runs, std::uint64_t seed) {
  rig::Draw draw(seed);
  StereoSpectrum spectrum(hann_window(kSize));
  const double own = std::sqrt(1 / g2 - 1);  // noise of the right channel alone, relative to the shared noise
  RobustScheme plain;
  plain.huber_steps = 0;
  plain.bisquare_cut = std::numeric_limits<double>::infinity();
  const Eigen::MatrixXd ones = Eigen::MatrixXd::Ones(averages, 1);
  Errors e;
  double count = 0, mean_coherence = 0;
  std::vector<float> stereo(2 * kSize);
  constexpr std::size_t kFirst = 8, kApart = 4, kBins = 28;
  for (int run = 0; run < runs; ++run) {
    Eigen::MatrixXcd left(averages, kBins), right(averages, kBins);
    for (int a = 0; a < averages; ++a) {
      for (std::size_t n = 0; n < kSize; ++n) {
        const double shared = draw.normal();
        stereo[2 * n] = static_cast<float>(shared);
        stereo[2 * n + 1] = static_cast<float>(shared + own * draw.normal());
      }
      const TwoSpectra& s = spectrum.transform(stereo.data());
      for (std::size_t b = 0; b < kBins; ++b) {
        left(a, static_cast<Eigen::Index>(b)) = s.left[kFirst + kApart * b];
        right(a, static_cast<Eigen::Index>(b)) = s.right[kFirst + kApart * b];
      }
    }
    for (Eigen::Index b = 0; b < left.cols(); ++b) {
      const RobustFit fit = fit_robust(left.col(b), right.col(b), ones, 1, Scatter::kComplex, plain);
      const C h = fit.coefficients[0];  // true value: 1
      const double coherence = std::norm(left.col(b).dot(right.col(b))) / (left.col(b).squaredNorm() * right.col(b).squaredNorm());
      e.gain += (std::abs(h) - 1) * (std::abs(h) - 1);
      e.phase_rad += std::arg(h) * std::arg(h);
      e.coherence += (coherence - g2) * (coherence - g2);
      e.stated += 0.5 * fit.covariance.trace();
      mean_coherence += coherence;
      ++count;
    }
  }
  e.coherence_bias = mean_coherence / count - g2;
  e.coherence = std::sqrt(e.coherence / count - e.coherence_bias * e.coherence_bias);
  e.gain = std::sqrt(e.gain / count);
  e.phase_rad = std::sqrt(e.phase_rad / count);
  e.stated = std::sqrt(e.stated / count);
  return e;
}

}  // namespace

TEST_CASE("Gain, phase and coherence errors of a cross-spectral ratio follow the formulas of Bendat and Piersol") {
  // Random Data, 4th ed. 2010, ch. 9: sd|H|/|H| = sd(phase) = sqrt((1 − γ²)/(2·nd·γ²)) (verified in an excerpt); sd(γ²) = sqrt(2γ²)(1 −
  // γ²)/sqrt(nd) (from memory, re-simulated); bias of γ² about (1 − γ²)²/nd. The formulas are of first order in 1/nd: at 100 averages
  // they are 2 % too low at γ² = 0.3. The scatter of a standard deviation over 28·120 estimates is 1.2 %. The tolerance for both is 5 %.
  const int averages = 100;
  for (const double g2 : {0.3, 0.6, 0.9, 0.99}) {
    const Errors e = simulate(g2, averages, 120, 7);
    const double expected = std::sqrt((1 - g2) / (2 * averages * g2));
    const double expected_coherence = std::sqrt(2 * g2) * (1 - g2) / std::sqrt(averages);
    INFO("coherence " << g2 << ", seed 7");
    fmt::print("coherence {:.2f}: gain {:.3f}, phase {:.3f}, coherence {:.3f}, stated {:.3f} of the formula\n", g2, e.gain / expected,
               e.phase_rad / expected, e.coherence / expected_coherence, e.stated / expected);
    CHECK_THAT(e.gain, WithinRel(expected, 0.05));
    CHECK_THAT(e.phase_rad, WithinRel(expected, 0.05));
    CHECK_THAT(e.coherence, WithinRel(expected_coherence, 0.05));
    CHECK_THAT(e.coherence_bias, WithinAbs((1 - g2) * (1 - g2) / averages, 4 * e.coherence / std::sqrt(28.0 * 120)));
    // The uncertainty that a reading states from the scatter of its frames alone is the same (1 % by its 1/nd).
    CHECK_THAT(e.stated, WithinRel(expected, 0.05));
  }
}

TEST_CASE("At ten averages the published formulas are 5 % low") {
  const double g2 = 0.9;
  const Errors e = simulate(g2, 10, 600, 8);
  const double expected = std::sqrt((1 - g2) / (20 * g2));
  INFO("seed 8");
  CHECK(e.gain > 1.02 * expected);  // scatter 0.6 %
  CHECK(e.gain < 1.09 * expected);
  CHECK(e.phase_rad > 1.02 * expected);
  CHECK(e.phase_rad < 1.09 * expected);
}

namespace {

struct TwoTones {
  double left, right, variance_left, variance_right;
  int samples;
  double sd_db, sd_deg;  // of the bound
};

// Derived from Fisher's matrix (5×5 inverse agreeing to 1.000000; not from a book; the single-channel bound is Rife and Boorstyn's, from
// memory): var ln|AR/AL| = var(phase R − L) = 2 sL²/(N AL²) + 2 sR²/(N AR²), whether the frequency is known or not.
constexpr TwoTones kBounds[] = {{0.5, 0.05, 1e-6, 1e-6, 48000, 0.0011269363010063384, 0.0074337455941490905},
                                {0.5, 0.015811388, 1e-6, 4e-6, 4800, 0.022429674220278712, 0.14795556036690177},
                                {0.5, 0.005, 1e-6, 1e-6, 48000, 0.011213995962739014, 0.07397223162158831}};

}  // namespace

TEST_CASE("The ratio of two channels has the variance of its Cramér-Rao bound") {
  for (const TwoTones& t : kBounds) {
    const double bound =
        std::sqrt(2 * t.variance_left / (t.samples * t.left * t.left) + 2 * t.variance_right / (t.samples * t.right * t.right));
    CHECK_THAT(bound * 20 / std::log(10.0), WithinRel(t.sd_db, 1e-9));  // typed with a factor of 8.685889638
    CHECK_THAT(degrees(bound), WithinRel(t.sd_deg, 1e-12));

    const int runs = t.samples > 10000 ? 250 : 1000;
    rig::Draw draw(9);
    double ln2 = 0, phase2 = 0;
    for (int run = 0; run < runs; ++run) {
      // The frequency differs from the lock-in's by 1 Hz, as it would with wow. The difference cancels in the ratio.
      LockIn lock_in(48000, 1000, 0);
      std::vector<float> hop(2 * lock_in.hop_frames());
      const double phase = draw.uniform(-3, 3);
      const int hops = t.samples / static_cast<int>(lock_in.hop_frames());
      for (int h = 0; h < hops; ++h) {
        for (std::size_t n = 0; n < lock_in.hop_frames(); ++n) {
          const double at = static_cast<double>(h) * static_cast<double>(lock_in.hop_frames()) + static_cast<double>(n);
          const double angle = 2 * 3.14159265358979323846 * 1001 / 48000 * at + phase;
          hop[2 * n] = static_cast<float>(t.left * std::cos(angle) + std::sqrt(t.variance_left) * draw.normal());
          hop[2 * n + 1] = static_cast<float>(t.right * std::cos(angle + 0.3) + std::sqrt(t.variance_right) * draw.normal());
        }
        lock_in.add_hop(hop.data());
      }
      const LockInFrames frames = lock_in.frames();
      const auto n = static_cast<Eigen::Index>(frames.left.size());
      const RobustFit fit =
          fit_robust(Eigen::Map<const Eigen::VectorXcd>(frames.left.data(), n), Eigen::Map<const Eigen::VectorXcd>(frames.right.data(), n),
                     Eigen::MatrixXd::Ones(n, 1), 20, Scatter::kComplex);
      const C relative = fit.coefficients[0] / std::polar(t.right / t.left, 0.3);
      ln2 += std::log(std::abs(relative)) * std::log(std::abs(relative)) / runs;
      phase2 += std::arg(relative) * std::arg(relative) / runs;
    }
    // The variance is 1.03 of the bound by design, and Hann's taper gives little weight to the outermost frame: two and a half hops of 187
    // or of 18. The variance of two parts scatters by 6 % (250 runs) or 3 % (1000 runs). Three times that is allowed for.
    const double over_bound = 0.5 * (ln2 + phase2) / (bound * bound);
    fmt::print("two-channel ratio, {} samples: variance {:.3f} of the bound\n", t.samples, over_bound);
    INFO("seed 9, " << t.samples << " samples");
    const double taper = 1 / (1 - 2.5 / std::floor(t.samples / 256.0));
    CHECK(over_bound > 1 - 0.18);
    CHECK(over_bound < 1.03 * taper * (t.samples > 10000 ? 1.18 : 1.10));
  }
}
