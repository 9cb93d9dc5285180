// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/noise_listen.hpp"

#include <algorithm>
#include <bit>
#include <cassert>
#include <cmath>
#include <utility>

#include "measure/long_passages.hpp"
#include "measure/method_constants.hpp"
#include "measure/noise_constants.hpp"
#include "measure/sample_faults.hpp"
#include "numeric/counts.hpp"
#include "numeric/linear_algebra.hpp"
#include "numeric/revolution.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall::internal::measure {
namespace {

/// Powers and cross power of one band in every frame.
struct BandFrames {
  double centre_hz = 0;
  std::size_t first = 0, last = 0;  // lines, inclusive
  std::vector<double> driven, quiet;
  std::vector<Complex> cross;    // quiet · conj(driven)
  std::size_t course_terms = 0;  // Legendre polynomials P1, P2, ... of the position within the band
  std::vector<double> shapes;    // values of the polynomials at each line
  std::vector<float> positions;  // means of the polynomials over each frame's driven power
};

struct Frames {
  std::vector<double> middle_s;
  std::vector<BandFrames> bands;
  double hop_s = 0;
  SampleFaults left, right;
};

/// Legendre polynomials P_n(x), n from 1 on, also beyond |x| = 1.
void legendre(double x, std::array<double, numeric::kMostCourseTerms>& values) {
  double before = 1, here = x;
  for (std::size_t n = 1; n <= values.size(); ++n) {
    values[n - 1] = here;
    const auto order = static_cast<double>(n);
    before = std::exchange(here, ((2 * order + 1) * x * here - order * before) / (order + 1));
  }
}

/// As many polynomials as the lines of the band can determine. A line of a Hann frame is a mean over the frequencies beside it, with the
/// standard deviation 1/√3 of a line. A mean over three points has the same moments up to the fifth as a normal distribution.
void set_shapes(BandFrames& band, double bin_hz) {
  const std::size_t lines = band.last - band.first + 1;
  const auto is_enough = [&](std::size_t least) { return lines >= least; };
  band.course_terms = static_cast<std::size_t>(std::count_if(std::begin(kLinesOfCourse), std::end(kLinesOfCourse), is_enough));
  std::array<double, numeric::kMostCourseTerms> below, here, above;
  for (std::size_t k = band.first; k <= band.last; ++k) {
    const auto position = [&](double line) { return std::log(line * bin_hz / band.centre_hz) / kHalfThirdOctave; };
    const auto line = static_cast<double>(k);
    legendre(position(line - 1), below);  // √3 standard deviations
    legendre(position(line), here);
    legendre(position(line + 1), above);
    for (std::size_t n = 0; n < band.course_terms; ++n) band.shapes.push_back((below[n] + 4 * here[n] + above[n]) / 6);
  }
}

std::vector<BandFrames> empty_bands(double rate_hz, double bin_hz) {
  std::vector<BandFrames> bands;
  const double half = std::exp(kHalfThirdOctave);
  for (const double centre : third_octave_centres(kNoiseLowest_hz, kHighestShare * rate_hz)) {
    BandFrames band;
    band.centre_hz = centre;
    band.first = static_cast<std::size_t>(std::ceil(centre / half / bin_hz));
    band.last = static_cast<std::size_t>(std::floor(centre * half / bin_hz));
    if (band.last < band.first) continue;
    set_shapes(band, bin_hz);
    bands.push_back(std::move(band));
  }
  return bands;
}

void add_frame(Frames& frames, const numeric::TwoSpectra& spectra, Driven driven, double scale) {
  const auto& d = driven == Driven::kLeft ? spectra.left : spectra.right;
  const auto& q = driven == Driven::kLeft ? spectra.right : spectra.left;
  for (BandFrames& band : frames.bands) {
    double driven_power = 0, quiet_power = 0;
    Complex cross = 0;
    std::array<double, numeric::kMostCourseTerms> positions{};
    const double* shape = band.shapes.data();
    for (std::size_t k = band.first; k <= band.last; ++k) {
      const double power = std::norm(d[k]);
      driven_power += power;
      for (std::size_t n = 0; n < band.course_terms; ++n) positions[n] += power * *shape++;
      quiet_power += std::norm(q[k]);
      cross += q[k] * std::conj(d[k]);
    }
    band.driven.push_back(scale * driven_power);
    band.quiet.push_back(scale * quiet_power);
    band.cross.push_back(scale * cross);
    for (std::size_t n = 0; n < band.course_terms; ++n)
      band.positions.push_back(driven_power > 0 ? static_cast<float>(positions[n] / driven_power) : 0.0F);
  }
}

Frames hear(AudioSource& source, const NoiseStretch& stretch) {
  const double rate = source.info().sample_rate_hz;
  const std::size_t size = std::bit_ceil(static_cast<std::size_t>(0.75 * kNoiseFrame_s * rate));
  const std::size_t hop = size / 2;
  assert(hop > 0);
  Frames frames;
  frames.hop_s = static_cast<double>(hop) / rate;
  frames.bands = empty_bands(rate, rate / static_cast<double>(size));
  numeric::StereoSpectrum spectrum(numeric::hann_window(size));
  // Factor for the mean square from one side of a Hann-weighted spectrum.
  const double scale = 2.0 / (0.375 * static_cast<double>(size) * static_cast<double>(size));
  const auto first = static_cast<std::int64_t>(std::ceil((stretch.start_s + kNoiseEdge_s) * rate));
  const auto stop = std::min(source.frames(), static_cast<std::int64_t>(std::floor((stretch.end_s - kNoiseEdge_s) * rate)));
  std::vector<float> block(2 * size);
  std::size_t in_hand = 0;
  for (std::int64_t position = std::max<std::int64_t>(0, first); position + static_cast<std::int64_t>(size) <= stop;
       position += static_cast<std::int64_t>(hop)) {
    const auto wanted = static_cast<std::int64_t>(size - in_hand);
    float* fresh = block.data() + 2 * in_hand;
    if (source.read(position + static_cast<std::int64_t>(in_hand), wanted, fresh) < wanted) break;
    for (std::int64_t i = 0; i < wanted; ++i) {
      frames.left.add(fresh[2 * i]);
      frames.right.add(fresh[2 * i + 1]);
    }
    if (std::all_of(block.begin(), block.end(), [](float x) { return std::isfinite(x); })) {
      add_frame(frames, spectrum.transform(block.data()), stretch.driven, scale);
      frames.middle_s.push_back((static_cast<double>(position) + 0.5 * static_cast<double>(size)) / rate);
    }
    std::copy(block.begin() + static_cast<std::ptrdiff_t>(2 * hop), block.end(), block.begin());
    in_hand = size - hop;
  }
  return frames;
}

struct HeardBand {
  BandRatio band;
  std::array<Complex, 2> once{};
  double rejected_fraction = 0;
};

double sum(const std::vector<double>& v) {
  double total = 0;
  for (const double x : v) total += x;
  return total;
}

/// The terms of the revolution, and those of the course of the ratio within the band, if there are enough frames for them.
Eigen::MatrixXd terms_of(const BandFrames& frames, const Eigen::MatrixXd& revolution) {
  const Eigen::Index count = revolution.rows(), turn = revolution.cols();
  const auto stride = static_cast<Eigen::Index>(frames.course_terms);
  const Eigen::Index affordable = count / kFramesOfTerm - turn;
  const Eigen::Index course = std::clamp<Eigen::Index>(affordable, 0, stride);
  Eigen::MatrixXd terms(count, turn + course);
  terms.leftCols(turn) = revolution;
  for (Eigen::Index f = 0; f < count; ++f) {
    for (Eigen::Index n = 0; n < course; ++n) terms(f, turn + n) = frames.positions[static_cast<std::size_t>(f * stride + n)];
  }
  return terms;
}

/// Mean square of the ratio's course over the third octave, Σ|q_n|²/(2n + 1), without the part due to noise. Of a frame's terms, those
/// from `first` on belong to the course.
double square_in_third_octave(const numeric::RobustFit& fit, const Eigen::VectorXcd& reference, const Eigen::MatrixXd& terms,
                              Eigen::Index first) {
  const Eigen::MatrixXd inverse = numeric::PivotedFactor(numeric::weighted_square(terms, reference.cwiseAbs2())).inverse();
  const double u2 = fit.covariance(0, 0) + fit.covariance(1, 1);  // of the constant; the others are in proportion
  double square = 0;
  if (!(inverse(0, 0) > 0)) return 0;
  for (Eigen::Index k = first; k < terms.cols(); ++k) {
    const double n = static_cast<double>(k - first) + 1;
    square += (std::norm(fit.coefficients[k]) - u2 * inverse(k, k) / inverse(0, 0)) / (2 * n + 1);
  }
  return std::max(0.0, square);
}

HeardBand band_of(const BandFrames& frames, const Eigen::MatrixXd& revolution, double hop_s) {
  const auto count = static_cast<Eigen::Index>(frames.driven.size());
  const Eigen::MatrixXd terms = terms_of(frames, revolution);
  Eigen::VectorXcd reference(count), response(count);
  for (Eigen::Index f = 0; f < count; ++f) {
    const double root = std::sqrt(frames.driven[static_cast<std::size_t>(f)]);
    reference[f] = root;
    response[f] = root > 0 ? frames.cross[static_cast<std::size_t>(f)] / root : Complex{0, 0};
  }
  const auto block =
      numeric::rows_per_block(frames.driven.size(), std::ceil(numeric::kInfluenceBlock_s / hop_s), static_cast<std::size_t>(terms.cols()));
  const auto fit = numeric::fit_robust(reference, response, terms, block, numeric::Scatter::kComplex);
  HeardBand heard;
  BandRatio& band = heard.band;
  band.frequency_hz = frames.centre_hz;
  const double u_re = std::sqrt(fit.covariance(0, 0));
  const double u_im = std::sqrt(fit.covariance(1, 1));
  band.ratio = {fit.coefficients[0], u_re, u_im, u_re * u_im > 0 ? fit.covariance(0, 1) / (u_re * u_im) : 0.0};
  band.ratio.rms_in_third_octave = std::sqrt(square_in_third_octave(fit, reference, terms, revolution.cols()));
  const double mean_power = sum(frames.driven) / static_cast<double>(count);
  band.ln_level = 0.5 * std::log(2 * mean_power);
  // Scatter of the frames' powers. Hann frames that overlap by half are slightly correlated: 1.06 of the variance, Welch 1967 (from
  // memory).
  double scatter = 0;
  for (const double p : frames.driven) scatter += std::pow(p / mean_power - 1, 2);
  band.u_ln_level = 0.5 * std::sqrt(1.06 * scatter) / static_cast<double>(count);
  const double quiet_power = sum(frames.quiet) / static_cast<double>(count);
  if (quiet_power > 0) band.band_db = 10 * std::log10(quiet_power / mean_power);
  if (revolution.cols() >= 3) heard.once = {fit.coefficients[1], fit.coefficients[2]};
  heard.rejected_fraction = fit.rejected_fraction;
  return heard;
}

/// Bands that the test noise fills.
std::vector<BandFrames> filled(std::vector<BandFrames> bands) {
  std::vector<double> powers;
  for (const BandFrames& b : bands) powers.push_back(sum(b.driven));
  const double least = std::pow(10.0, -0.1 * kEmptyBand_db) * numeric::median(powers);
  std::vector<BandFrames> kept;
  for (std::size_t b = 0; b < bands.size(); ++b) {
    if (powers[b] > least && powers[b] > 0) kept.push_back(std::move(bands[b]));
  }
  return kept;
}

/// Sets the levels, the signal-to-noise ratio and the relation over all bands.
void set_passage(HeardBands& heard, const NoiseStretch& stretch, const std::vector<BandFrames>& bands) {
  Passage& passage = heard.overall.passage;
  passage.kind = PassageKind::kNoise;
  passage.driven = stretch.driven;
  passage.start_s = stretch.start_s;
  passage.end_s = stretch.end_s;
  double driven = 0, quiet = 0, strange = 0, in_phase = 0;
  for (std::size_t b = 0; b < bands.size(); ++b) {
    const double d = sum(bands[b].driven);
    const double q = sum(bands[b].quiet);
    driven += d;
    quiet += q;
    strange += std::max(0.0, q - d * std::norm(heard.bands[b].ratio.value));
    in_phase += heard.bands[b].ratio.value.real() > 0 ? 1 : -1;
  }
  const auto frames = static_cast<double>(bands.front().driven.size());
  // 0 dBFS is the rms of a full-scale sine, which has a mean square of one half.
  const double loud_dbfs = 10 * std::log10(2 * driven / frames);
  const double quiet_dbfs = 10 * std::log10(std::max(1e-20, 2 * quiet / frames));
  passage.level_left_dbfs = stretch.driven == Driven::kLeft ? loud_dbfs : quiet_dbfs;
  passage.level_right_dbfs = stretch.driven == Driven::kLeft ? quiet_dbfs : loud_dbfs;
  passage.snr_db = 10 * std::log10(driven / std::max(strange, 1e-20));
  if (stretch.driven == Driven::kBoth) passage.relation = in_phase >= 0 ? Relation::kInPhase : Relation::kAntiphase;
}

std::optional<HeardBands> listen_at_once(AudioSource& source, const NoiseStretch& stretch, double rpm) {
  Frames frames = hear(source, stretch);
  if (frames.middle_s.size() < kLeastNoiseFrames || frames.bands.empty()) return std::nullopt;
  const auto bands = filled(std::move(frames.bands));
  if (bands.empty()) return std::nullopt;
  const double revolutions = (frames.middle_s.back() - frames.middle_s.front()) * rpm / 60.0;
  const Eigen::MatrixXd terms = numeric::revolution_terms(frames.middle_s, 0.5 * (frames.middle_s.front() + frames.middle_s.back()), rpm,
                                                          numeric::noise_harmonics(revolutions));
  HeardBands heard;
  const auto share = 1.0 / static_cast<double>(bands.size());
  for (const BandFrames& b : bands) {
    const HeardBand band = band_of(b, terms, frames.hop_s);
    heard.bands.push_back(band.band);
    heard.overall.rejected_fraction += share * band.rejected_fraction;
    for (std::size_t i = 0; i < 2; ++i) heard.overall.once_per_revolution[i] += share * band.once[i];
  }
  heard.overall.whole_revolution = revolutions >= 1;
  set_faults(heard.overall, frames.left, frames.right);
  set_passage(heard, stretch, bands);
  return heard;
}

}  // namespace

std::optional<HeardBands> listen_to_noise(AudioSource& source, const NoiseStretch& stretch, double rpm) {
  std::vector<HeardBands> parts;
  for (const auto& [start_s, end_s] : parts_of(stretch.start_s, stretch.end_s)) {
    NoiseStretch part = stretch;
    part.start_s = start_s;
    part.end_s = end_s;
    if (auto heard = listen_at_once(source, part, rpm)) parts.push_back(std::move(*heard));
  }
  if (parts.empty()) return std::nullopt;
  HeardBands heard = joined(std::move(parts));
  return heard.bands.empty() ? std::nullopt : std::optional(std::move(heard));
}

}  // namespace evenwall::internal::measure
