#include "measure/sweep_listen.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "measure/sweep_track.hpp"
#include "numeric/robust_regression.hpp"
#include "numeric/smooth_curve.hpp"

namespace evenwall {
namespace {

constexpr double kTwoPi = 2.0 * std::numbers::pi;
constexpr double kLeastLevel = 0.5;  // of the level about it: outside, a fade, dropout or click
constexpr double kLargestLevel = 1.5;
constexpr double kEdgeLevel = 0.5;  // an edge is where the level has fallen to this
constexpr double kGap_s = 0.15;     // beyond an edge nothing is heard for so long
constexpr std::size_t kNearFrames = 40;
constexpr double kCell_s = 0.010667;  // frames put together to one row: a click costs one or two
constexpr std::size_t kLeastCells = 60;
constexpr double kKnots = 0.0866433976;  // in ln f: eight to the octave, for a resonance of Q 3
// Leak per knot squared: an ordinary cartridge's response bends by this at the least (0.003°), and no response by more than the most
// (judgements).
constexpr double kLeastBend = 1.5e-5;
constexpr double kLargestBend = 0.02;
constexpr double kWarpPrior_deg = 0.3;   // lean of a bad record (a judgement)
constexpr double kDoubtful_deg = 0.005;  // standard uncertainty of the warp's amplitude from which on it is worth a word
constexpr double kSureWarp = 3;          // warp is sure where its amplitude is more than this many of its uncertainties
constexpr int kHarmonics = 2;

double driven_size(const TrackFrame& f, Driven driven) { return std::abs(driven == Driven::kLeft ? f.left : f.right); }

/// Frames between the edges, whole windows only.
struct Inside {
  std::vector<TrackFrame> frames;
  double start_s = 0, end_s = 0;
  double start_hz = 0, end_hz = 0;
};

/// From frame `from` outward in direction `step` while the sweep is heard; the last frame that still has half the level.
std::size_t edge_from(const std::vector<TrackFrame>& frames, std::size_t from, int step, Driven driven) {
  std::vector<double> near;
  std::size_t edge = from;
  double level = 0;
  for (auto f = static_cast<std::ptrdiff_t>(from); f >= 0 && f < static_cast<std::ptrdiff_t>(frames.size()); f += step) {
    const TrackFrame& frame = frames[static_cast<std::size_t>(f)];
    const double size = driven_size(frame, driven);
    if (near.size() < kNearFrames / 2 || (size >= kEdgeLevel * level && size <= level / kEdgeLevel)) {
      near.push_back(size);
      if (near.size() > kNearFrames) near.erase(near.begin());
      level = median(near);
      edge = static_cast<std::size_t>(f);
    } else if (std::abs(frame.middle_s - frames[edge].middle_s) > kGap_s + frame.length_s) {
      break;
    }
  }
  return edge;
}

std::optional<Inside> inside_of(const Track& track, const SweepStretch& stretch) {
  const auto& frames = track.frames;
  const auto at = [&](double time_s) {
    const auto found = std::lower_bound(frames.begin(), frames.end(), time_s, [](const TrackFrame& f, double t) { return f.middle_s < t; });
    return static_cast<std::size_t>(found - frames.begin());
  };
  const double third_s = (stretch.seen_end_s - stretch.seen_start_s) / 3;
  const std::size_t early = at(stretch.seen_start_s + third_s);
  const std::size_t late = at(stretch.seen_end_s - third_s);
  if (late >= frames.size() || late < early + kNearFrames) return std::nullopt;
  const TrackFrame& first = frames[edge_from(frames, late, -1, stretch.driven)];
  const TrackFrame& last = frames[edge_from(frames, early, +1, stretch.driven)];
  Inside inside;
  inside.start_s = first.middle_s;
  inside.end_s = last.middle_s;
  inside.start_hz = first.frequency_hz;
  inside.end_hz = last.frequency_hz;
  for (const TrackFrame& f : frames) {
    if (f.middle_s - 0.5 * f.length_s >= inside.start_s && f.middle_s + 0.5 * f.length_s <= inside.end_s) inside.frames.push_back(f);
  }
  return inside.frames.size() < kLeastCells ? std::nullopt : std::optional<Inside>(std::move(inside));
}

/// Level about each frame: the median of those near it.
std::vector<double> levels_about(const std::vector<TrackFrame>& frames, Driven driven) {
  std::vector<double> sizes;
  for (const TrackFrame& f : frames) sizes.push_back(driven_size(f, driven));
  std::vector<double> levels(sizes.size());
  for (std::size_t f = 0; f < sizes.size(); ++f) {
    const auto first = sizes.begin() + static_cast<std::ptrdiff_t>(f > kNearFrames ? f - kNearFrames : 0);
    const auto last = sizes.begin() + static_cast<std::ptrdiff_t>(std::min(sizes.size(), f + kNearFrames + 1));
    levels[f] = median({first, last});
  }
  return levels;
}

/// One row of the fit: frames of about one window's time, least squares of quiet over driven channel within.
struct Cells {
  std::vector<double> time_s, ln_f, ln_level;
  std::vector<double> reference;
  std::vector<Complex> response;
  double lost_fraction = 0;
};

/// ln of the driven amplitude, what lies off the law brought back to full size.
double ln_level_of(const TrackFrame& before, const TrackFrame& frame, Driven driven) {
  const Complex a = driven == Driven::kLeft ? before.left : before.right;
  const Complex b = driven == Driven::kLeft ? frame.left : frame.right;
  const double off_hz = std::arg(b * std::conj(a)) / (kTwoPi * (frame.middle_s - before.middle_s));
  return std::log(std::abs(b) / std::max(0.3, kept_amplitude(off_hz, frame.length_s)));
}

class CellMaker {
 public:
  CellMaker(const Inside& inside, Driven driven) : inside_(inside), driven_(driven), levels_(levels_about(inside.frames, driven)) {}

  Cells cells() {
    std::size_t lost = 0;
    for (std::size_t f = 1; f < inside_.frames.size(); ++f) {
      const double size = driven_size(inside_.frames[f], driven_);
      if (size < kLeastLevel * levels_[f] || size > kLargestLevel * levels_[f]) {
        ++lost;
        continue;
      }
      add(inside_.frames[f - 1], inside_.frames[f]);
    }
    cells_.lost_fraction = static_cast<double>(lost) / static_cast<double>(inside_.frames.size());
    return std::move(cells_);
  }

 private:
  void add(const TrackFrame& before, const TrackFrame& frame) {
    const Complex driven = driven_ == Driven::kLeft ? frame.left : frame.right;
    const Complex quiet = driven_ == Driven::kLeft ? frame.right : frame.left;
    cross_ += quiet * std::conj(driven);
    power_ += std::norm(driven);
    time_ += frame.middle_s;
    ln_level_ += ln_level_of(before, frame, driven_);
    count_ += 1;
    span_s_ += 0.25 * frame.length_s;
    if (span_s_ < std::max(kCell_s, 0.999 * frame.length_s)) return;
    const double middle_s = time_ / count_;
    cells_.time_s.push_back(middle_s);
    cells_.ln_level.push_back(ln_level_ / count_);
    cells_.reference.push_back(std::sqrt(power_));
    cells_.response.push_back(power_ > 0 ? cross_ / std::sqrt(power_) : Complex{0, 0});
    cross_ = 0;
    power_ = time_ = ln_level_ = count_ = span_s_ = 0;
  }

  const Inside& inside_;
  Driven driven_;
  std::vector<double> levels_;
  Cells cells_;
  Complex cross_{0, 0};
  double power_ = 0, time_ = 0, ln_level_ = 0, count_ = 0, span_s_ = 0;
};

/// Splines in ln f, then cosine and sine of the revolution.
struct Design {
  CubicBasis basis;
  Eigen::MatrixXd rows;
};

Design design_of(const Cells& cells, double middle_s, double rpm) {
  const auto [low, high] = std::minmax_element(cells.ln_f.begin(), cells.ln_f.end());
  Design d{CubicBasis(*low, *high, kKnots), {}};
  d.rows = Eigen::MatrixXd::Zero(static_cast<Eigen::Index>(cells.ln_f.size()), d.basis.size() + 2 * kHarmonics);
  for (std::size_t c = 0; c < cells.ln_f.size(); ++c) {
    const auto row = static_cast<Eigen::Index>(c);
    d.rows.row(row).head(d.basis.size()) = d.basis.at(cells.ln_f[c]);
    for (int h = 1; h <= kHarmonics; ++h) {
      const double angle = kTwoPi * rpm / 60.0 * h * (cells.time_s[c] - middle_s);
      d.rows(row, d.basis.size() + 2 * h - 2) = std::cos(angle);
      d.rows(row, d.basis.size() + 2 * h - 1) = std::sin(angle);
    }
  }
  return d;
}

/// Mean square over a turn of what was taken out as warp, as a covariance of (Re, Im), as far as a resonance could have made it.
///
/// Every step meets the same groove, so what is taken for warp wrongly errs alike at all of them: it must stay a doubt.
Eigen::Matrix2d doubt_of(const CurveFit& fit) {
  const auto terms = fit.coefficients.tail(2 * kHarmonics);
  const double variance = fit.covariance.diagonal().tail(2 * kHarmonics).sum();
  const double size2 = terms.squaredNorm();
  const double share = size2 > 0 ? std::min(1.0, kSureWarp * kSureWarp * variance / size2) : 0.0;
  Eigen::Matrix2d doubt = Eigen::Matrix2d::Zero();
  for (Eigen::Index k = 0; k < terms.size(); ++k) {
    const Eigen::Vector2d part(terms[k].real(), terms[k].imag());
    doubt += 0.5 * share * part * part.transpose();
  }
  return doubt;
}

BandRatio band_of(double centre_hz, const CurveFit& fit, const Design& design, const Cells& cells) {
  Eigen::RowVectorXd row = Eigen::RowVectorXd::Zero(design.rows.cols());
  row.head(design.basis.size()) = design.basis.at(std::log(centre_hz));
  const double u = std::sqrt(fit.variance(row));
  const Eigen::Matrix2d covariance = u * u * Eigen::Matrix2d::Identity() + doubt_of(fit);
  const double u_re = std::sqrt(covariance(0, 0));
  const double u_im = std::sqrt(covariance(1, 1));
  BandRatio band;
  band.frequency_hz = centre_hz;
  band.ratio = {fit.value(row), u_re, u_im, u_re * u_im > 0 ? covariance(0, 1) / (u_re * u_im) : 0.0};
  std::vector<double> levels;
  for (std::size_t c = 0; c < cells.ln_f.size(); ++c) {
    if (std::abs(cells.ln_f[c] - std::log(centre_hz)) <= kHalfThirdOctave) levels.push_back(cells.ln_level[c]);
  }
  if (levels.empty()) return band;
  band.ln_level = median(levels);
  std::vector<double> strays;
  for (const double l : levels) strays.push_back(std::abs(l - band.ln_level));
  // Standard deviation from the median of strays, and of a median from that: 1.4826 · 1.2533.
  band.u_ln_level = 1.858 * median(strays) / std::sqrt(static_cast<double>(levels.size()));
  return band;
}

/// Tone over what the space beside the track holds, summed up over the sweep's range.
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
  tone = 0.5 * std::pow(median(sizes), 2);
  return noise > 0 && spread > 0 ? 10 * std::log10(tone / noise) : 0;
}

void set_levels(Passage& passage, const std::vector<BandRatio>& bands, Driven driven) {
  std::vector<double> driven_levels, quiet_levels;
  for (const BandRatio& b : bands) {
    driven_levels.push_back(std::exp(b.ln_level));
    quiet_levels.push_back(std::exp(b.ln_level) * std::abs(b.ratio.value));
  }
  const double loud_dbfs = decibels(median(driven_levels));
  const double quiet_dbfs = decibels(std::max(1e-10, median(quiet_levels)));
  passage.level_left_dbfs = driven == Driven::kLeft ? loud_dbfs : quiet_dbfs;
  passage.level_right_dbfs = driven == Driven::kLeft ? quiet_dbfs : loud_dbfs;
}

void set_faults(HeardPassage& heard, const Track& track) {
  const auto total = static_cast<double>(std::max<std::int64_t>(1, track.left.samples() + track.right.samples()));
  heard.clipped_fraction = std::max(track.left.clipped_fraction(), track.right.clipped_fraction());
  heard.dc = std::abs(track.left.mean()) > std::abs(track.right.mean()) ? track.left.mean() : track.right.mean();
  heard.not_finite_fraction = static_cast<double>(track.left.not_finite() + track.right.not_finite()) / total;
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
  const Track track = follow(source, stretch.law, stretch.earliest_s, stretch.latest_s);
  const auto inside = inside_of(track, stretch);
  if (!inside) return std::nullopt;
  Cells cells = CellMaker(*inside, stretch.driven).cells();
  if (cells.time_s.size() < kLeastCells) return std::nullopt;
  for (const double t : cells.time_s) cells.ln_f.push_back(std::log(stretch.law.frequency_hz(t)));
  const Design design = design_of(cells, 0.5 * (inside->start_s + inside->end_s), rpm);
  const auto rows = static_cast<Eigen::Index>(cells.time_s.size());
  const Eigen::VectorXd reference = Eigen::Map<const Eigen::VectorXd>(cells.reference.data(), rows);
  const Eigen::VectorXcd response = Eigen::Map<const Eigen::VectorXcd>(cells.response.data(), rows);
  const CurveFit fit =
      fit_curve(reference, response, design.rows, design.basis.size(), {kLeastBend, kLargestBend, radians(kWarpPrior_deg)});

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
  set_faults(heard.overall, track);
  set_passage(heard, *inside, stretch.driven);
  return heard;
}

}  // namespace evenwall
