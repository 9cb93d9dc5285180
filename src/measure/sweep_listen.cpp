// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/sweep_listen.hpp"

#include <algorithm>
#include <cmath>

#include "measure/method_constants.hpp"
#include "measure/sweep_cells.hpp"
#include "numeric/revolution.hpp"
#include "numeric/robust_regression.hpp"
#include "numeric/smooth_curve.hpp"

namespace evenwall::internal::measure {
namespace {

/// Columns: splines in ln f, then the cosine and sine terms of the revolution.
struct Design {
  numeric::CubicBasis basis;
  Eigen::MatrixXd rows;
};

/// Factors of the harmonics' columns, because the lean falls with the order.
Eigen::VectorXd harmonic_sizes() {
  Eigen::VectorXd sizes(2 * kSweepHarmonics);
  for (int c = 0; c < 2 * kSweepHarmonics; ++c) sizes[c] = 1.0 / std::pow(1 + c / 2, kSweepLeanFall);
  return sizes;
}

/// The rows of a fit: response = reference · curve + noise of equal magnitude.
struct FitRows {
  std::vector<double> time_s, ln_f;
  Eigen::VectorXd reference;
  Eigen::VectorXcd response;
};

/// Scales the rows to equal noise: a record's is three times louder at 300 Hz than at 1 kHz, and a linear sweep passes 300 Hz quickly.
FitRows rows_of(const Cells& cells) {
  const auto n = static_cast<Eigen::Index>(cells.time_s.size());
  const Eigen::ArrayXd noise = Eigen::Map<const Eigen::ArrayXd>(cells.noise.data(), n);
  return {cells.time_s, cells.ln_f, Eigen::Map<const Eigen::ArrayXd>(cells.reference.data(), n) / noise,
          Eigen::Map<const Eigen::ArrayXcd>(cells.response.data(), n) / noise};
}

/// Joins adjacent rows two by two, by least squares. An odd last row is dropped.
FitRows paired(const FitRows& rows) {
  const Eigen::Index n = rows.reference.size() / 2;
  FitRows pairs{std::vector<double>(static_cast<std::size_t>(n)), std::vector<double>(static_cast<std::size_t>(n)), Eigen::VectorXd(n),
                Eigen::VectorXcd(n)};
  for (Eigen::Index k = 0; k < n; ++k) {
    const auto one = static_cast<std::size_t>(2 * k), pair = static_cast<std::size_t>(k);
    pairs.time_s[pair] = 0.5 * (rows.time_s[one] + rows.time_s[one + 1]);
    pairs.ln_f[pair] = 0.5 * (rows.ln_f[one] + rows.ln_f[one + 1]);
    const double a = rows.reference[2 * k], b = rows.reference[2 * k + 1], both = std::hypot(a, b);
    pairs.reference[k] = both;
    pairs.response[k] = both > 0 ? (a * rows.response[2 * k] + b * rows.response[2 * k + 1]) / both : Complex(0, 0);
  }
  return pairs;
}

Eigen::MatrixXd design_rows(const numeric::CubicBasis& basis, const FitRows& rows, double middle_s, double rpm) {
  Eigen::MatrixXd design = Eigen::MatrixXd::Zero(rows.reference.size(), basis.size() + Eigen::Index{2} * kSweepHarmonics);
  for (Eigen::Index r = 0; r < design.rows(); ++r) design.row(r).head(basis.size()) = basis.at(rows.ln_f[static_cast<std::size_t>(r)]);
  // The splines hold the constant already. Scaled columns give each harmonic its own prior.
  design.rightCols(2 * kSweepHarmonics) =
      numeric::revolution_terms(rows.time_s, middle_s, rpm, kSweepHarmonics).rightCols(2 * kSweepHarmonics) * harmonic_sizes().asDiagonal();
  return design;
}

struct Curve {
  Design design;
  numeric::CurveFit fit;
};

/// `knots`: their distance in ln f.
Curve curve_of(const FitRows& rows, double middle_s, double rpm, double knots) {
  const auto [low, high] = std::minmax_element(rows.ln_f.begin(), rows.ln_f.end());
  Curve curve{{numeric::CubicBasis(*low, *high, knots), {}}, {}};
  curve.design.rows = design_rows(curve.design.basis, rows, middle_s, rpm);
  const double finer = std::pow(knots / kSweepKnots, 2);  // a bend is a second difference
  curve.fit = numeric::fit_curve(rows.reference, rows.response, curve.design.rows, curve.design.basis.size(),
                                 {kSweepLeastBend * finer, kSweepLargestBend * finer, radians(kWarpPrior_deg)});
  return curve;
}

/// The misfit of a curve to all rows, in these scales. The rows of the design are made in blocks, so that they take little memory.
double misfit_of(const Curve& curve, const Eigen::VectorXd& scales, const FitRows& rows, double middle_s, double rpm) {
  constexpr Eigen::Index kBlock = 256;
  double sum = 0;
  for (Eigen::Index first = 0; first < scales.size(); first += kBlock) {
    const Eigen::Index n = std::min(kBlock, scales.size() - first);
    const FitRows block{{rows.time_s.begin() + first, rows.time_s.begin() + first + n},
                        {rows.ln_f.begin() + first, rows.ln_f.begin() + first + n},
                        rows.reference.segment(first, n),
                        rows.response.segment(first, n)};
    sum +=
        curve.fit.misfit(scales.segment(first, n), block.reference, block.response, design_rows(curve.design.basis, block, middle_s, rpm));
  }
  return sum;
}

/// Points that are equally spaced in ln f over a third octave, one row each, and no warp.
Eigen::MatrixXd over_third_octave(const Design& design, double ln_centre) {
  constexpr int kPoints = 12;
  Eigen::MatrixXd rows = Eigen::MatrixXd::Zero(kPoints, design.rows.cols());
  for (int i = 0; i < kPoints; ++i) {
    rows.row(i).head(design.basis.size()) = design.basis.at(ln_centre + kHalfThirdOctave * ((2.0 * i + 1) / kPoints - 1));
  }
  return rows;
}

/// The curve with coarse knots, or with fine ones if the data demand them. Fine knots follow a sharp resonance, and leave more of a warp to
/// the curve. Bayes' information criterion decides: each further parameter must lower the misfit by ln n. The rows of both fits, a few
/// megabytes, are not held at the same time, and a long sweep's are paired for the finer one.
Curve fitted_curve(const Cells& cells, double middle_s, double rpm) {
  const FitRows rows = rows_of(cells);
  Curve coarse = curve_of(rows, middle_s, rpm, kSweepKnots);
  if (rows.reference.size() < kSweepFineCells) return coarse;
  const double coarse_misfit = misfit_of(coarse, coarse.fit.scale, rows, middle_s, rpm);
  coarse.design.rows.resize(0, coarse.design.rows.cols());
  Curve fine = curve_of(rows.reference.size() > kSweepFineMostCells ? paired(rows) : rows, middle_s, rpm, kSweepFineKnots);
  fine.design.rows.resize(0, fine.design.rows.cols());
  const double further = std::max(0.0, fine.fit.freedom - coarse.fit.freedom);
  const double price = 2 * further * std::log(static_cast<double>(rows.reference.size())) * fine.fit.dependence;
  return coarse_misfit - misfit_of(fine, coarse.fit.scale, rows, middle_s, rpm) > price + kSweepFineMargin ? fine : coarse;
}

/// Uncertainty from the warp that was subtracted: its mean square over a turn, as a covariance of (Re, Im), as far as a resonance could
/// have caused it.
///
/// Every step plays the same groove, so a resonance mistaken for warp causes the same error in all steps. It must remain an uncertainty.
Eigen::Matrix2d doubt_of(const numeric::CurveFit& fit) {
  const Eigen::VectorXd sizes = harmonic_sizes();
  const Eigen::VectorXcd terms = sizes.cwiseProduct(fit.coefficients.tail(2 * kSweepHarmonics));
  const Eigen::VectorXd variances = sizes.cwiseAbs2().cwiseProduct(fit.covariance.diagonal().tail(2 * kSweepHarmonics));
  Eigen::Matrix2d doubt = Eigen::Matrix2d::Zero();
  for (Eigen::Index k = 0; k < terms.size(); k += 2) {
    const double size2 = terms.segment(k, 2).squaredNorm();
    const double noise2 = variances.segment(k, 2).sum();
    // Noise alone makes a harmonic of size2 = noise2, and the covariance of the curve already contains that.
    if (!(size2 > noise2)) continue;
    const double share = std::min(1.0, kSureWarp * kSureWarp * noise2 / size2) * (1 - noise2 / size2);
    for (Eigen::Index i = k; i < k + 2; ++i) {
      const Eigen::Vector2d part(terms[i].real(), terms[i].imag());
      doubt += 0.5 * share * part * part.transpose();
    }
  }
  return doubt;
}

/// Mean square of the curve about its mean over the third octave, without the part due to noise.
double square_about_mean(const numeric::CurveFit& fit, const Eigen::MatrixXd& rows) {
  const Eigen::RowVectorXd mean = rows.colwise().mean();
  double square = 0;
  for (Eigen::Index i = 0; i < rows.rows(); ++i) {
    const Eigen::RowVectorXd off = rows.row(i) - mean;
    square += (std::norm(fit.value(off)) - 2 * fit.variance(off)) / static_cast<double>(rows.rows());
  }
  return std::max(0.0, square);
}

BandRatio band_of(double centre_hz, const numeric::CurveFit& fit, const Design& design, const Cells& cells) {
  const Eigen::MatrixXd within = over_third_octave(design, std::log(centre_hz));
  const Eigen::RowVectorXd row = within.colwise().mean();  // as noise of equal power per octave has it
  const double u = std::sqrt(fit.variance(row));
  const Eigen::Matrix2d covariance = u * u * Eigen::Matrix2d::Identity() + doubt_of(fit);
  const double u_re = std::sqrt(covariance(0, 0));
  const double u_im = std::sqrt(covariance(1, 1));
  BandRatio band;
  band.frequency_hz = centre_hz;
  band.ratio = {fit.value(row), u_re, u_im, u_re * u_im > 0 ? covariance(0, 1) / (u_re * u_im) : 0.0};
  band.ratio.rms_in_third_octave = std::sqrt(square_about_mean(fit, within));
  std::vector<double> levels;
  for (std::size_t c = 0; c < cells.ln_f.size(); ++c) {
    if (std::abs(cells.ln_f[c] - std::log(centre_hz)) <= kHalfThirdOctave) levels.push_back(cells.ln_level[c]);
  }
  if (levels.empty()) return band;
  band.ln_level = numeric::median(levels);
  std::vector<double> strays;
  for (const double l : levels) strays.push_back(std::abs(l - band.ln_level));
  // 1.4826 converts the median deviation to a standard deviation, and 1.2533 converts that to the one of a median.
  band.u_ln_level = 1.858 * numeric::median(strays) / std::sqrt(static_cast<double>(levels.size()));
  return band;
}

/// Power of the tone over the noise beside the track, integrated over the sweep's range.
double snr_db(const Inside& inside, Driven driven) {
  double tone = 0, noise = 0, spread = 0;
  std::vector<double> sizes;
  for (std::size_t f = 1; f < inside.frames.size(); ++f) {
    const TrackFrame& frame = inside.frames[f];
    sizes.push_back(driven_size(frame, driven));
    if (!(frame.beside_power > 0)) continue;
    const double df = std::abs(frame.frequency_hz - inside.frames[f - 1].frequency_hz);
    // A Hann window's noise bandwidth is 1.5 over its length; amplitude squared is twice the power.
    noise += 0.25 * frame.beside_power * frame.length_s / 1.5 * df;
    spread += df;
  }
  tone = 0.5 * std::pow(numeric::median(sizes), 2);
  return noise > 0 && spread > 0 ? 10 * std::log10(tone / noise) : 0;
}

void set_levels(Passage& passage, const std::vector<BandRatio>& bands, Driven driven) {
  std::vector<double> driven_levels, quiet_levels;
  for (const BandRatio& b : bands) {
    driven_levels.push_back(std::exp(b.ln_level));
    quiet_levels.push_back(std::exp(b.ln_level) * std::abs(b.ratio.value));
  }
  const double loud_dbfs = decibels(numeric::median(driven_levels));
  const double quiet_dbfs = decibels(std::max(1e-10, numeric::median(quiet_levels)));
  passage.level_left_dbfs = driven == Driven::kLeft ? loud_dbfs : quiet_dbfs;
  passage.level_right_dbfs = driven == Driven::kLeft ? quiet_dbfs : loud_dbfs;
}

void set_passage(HeardBands& heard, const Inside& inside, Driven driven) {
  Passage& passage = heard.overall.passage;
  passage.kind = PassageKind::kSweep;
  passage.driven = driven;
  passage.start_s = inside.start_s;
  passage.end_s = inside.end_s;
  passage.frequency_from_hz = inside.start_hz;
  passage.frequency_to_hz = inside.end_hz;
  passage.snr_db = snr_db(inside, driven);
  set_levels(passage, heard.bands, driven);
  if (driven != Driven::kBoth) return;
  double in_phase = 0;
  for (const BandRatio& b : heard.bands) in_phase += b.ratio.value.real() > 0 ? 1 : -1;
  passage.relation = in_phase >= 0 ? Relation::kInPhase : Relation::kAntiphase;
}

}  // namespace

std::optional<HeardBands> listen_to_sweep(AudioSource& source, const SweepStretch& stretch, double rpm) {
  Track track = follow(source, stretch.law, stretch.earliest_s, stretch.latest_s);
  SweepLaw law = stretch.law;
  if (!law.logarithmic) {
    law = refined(law, track, stretch);
    track = {};  // so that memory never holds two tracks
    track = follow(source, law, stretch.earliest_s, stretch.latest_s);
  }
  const auto inside = inside_of(std::move(track.frames), stretch);
  if (!inside) return std::nullopt;
  const Cells cells = cells_of(*inside, law, stretch.driven);
  if (cells.time_s.size() < kSweepLeastCells) return std::nullopt;
  const auto [design, fit] = fitted_curve(cells, 0.5 * (inside->start_s + inside->end_s), rpm);

  HeardBands heard;
  const auto [low, high] = std::minmax(inside->start_hz, inside->end_hz);
  for (const double centre : third_octave_centres(low, high)) heard.bands.push_back(band_of(centre, fit, design, cells));
  if (heard.bands.empty()) return std::nullopt;
  heard.overall.once_per_revolution = {fit.coefficients[design.basis.size()], fit.coefficients[design.basis.size() + 1]};
  const Eigen::Index cosine = design.basis.size();
  const double u_warp_deg = degrees(std::sqrt(fit.covariance(cosine, cosine) + fit.covariance(cosine + 1, cosine + 1)));
  const auto& once = heard.overall.once_per_revolution;
  if (u_warp_deg > kDoubtful_deg) heard.doubtful_warp_deg = degrees(std::hypot(once[0].real(), once[1].real()));
  heard.overall.whole_revolution = (inside->end_s - inside->start_s) * rpm / 60.0 >= 1;
  heard.overall.rejected_fraction = fit.rejected_fraction;
  heard.overall.lost_fraction = cells.lost_fraction;
  set_faults(heard.overall, track.left, track.right);
  set_passage(heard, *inside, stretch.driven);
  return heard;
}

}  // namespace evenwall::internal::measure
