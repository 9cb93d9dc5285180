// SPDX-License-Identifier: GPL-3.0-or-later
// Finds the azimuth of least and of equal crosstalk over all measured frequencies together.
#pragma once

#include <optional>
#include <vector>

#include "evenwall/model.hpp"
#include "solve/criteria.hpp"
#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

/// The response at one frequency, with its tilt counted from least crosstalk at the session's frequency.
///
/// The recordings stand at the same true tilts at every frequency, whatever the gauge shows. The signal's fit at a frequency f gives the
/// tilt ψ_i(f) of each recording i from least crosstalk there. So
///
///     φ0(f) − φ0(a) = Σ v_i (ψ_i(a) − ψ_i(f))        Σ v_i = 1
///
/// with a the session's frequency: the gauge's errors are not in the difference.
struct BandPoint {
  double frequency_hz = 0;
  double weight = 1;
  double offset_rad = 0;  ///< φ0(f) − φ0(a)
  ResponseShape shape;
  /// Of (φ0(f), shape), by the signal at this frequency alone.
  Eigen::Matrix<double, 1 + kShapeSize, 1 + kShapeSize> covariance;
  /// Mean square of each direction's crosstalk about its mean within the third octave: right into left minus left into right, and their
  /// sum. Least crosstalk does not depend on it.
  double power_difference = 0, u_power_difference = 0;
  double power_sum = 0;
  double common_u_rad = 0;  ///< standard uncertainty of φ0(f) by causes that all frequencies share: the groove's lean, the electronics
};

/// The fit over all frequencies at once.
struct BandFit {
  std::vector<BandPoint> points;  ///< frequencies ascending, the session's among them if it lies within the limits
  double own_variance_rad2 = 0;   ///< of Σ v_i ψ_i(a), by the signal at the session's frequency alone
  double own_common_u_rad = 0;    ///< common_u_rad at the session's frequency
};

/// The response that the signal shows in `at`, beside the session's own fit. The weight is 1. Returns nothing if no recording is fitted in
/// both, or without phases.
std::optional<BandPoint> band_point(const JointFit& own, const JointFit& at);

/// `fits`: the signal's fit at each frequency, the session's own among them (`answered`: its index).
/// Returns nothing if the frequencies within the limits span less than an octave, or if they have no phases.
std::optional<BandFit> fit_band(const std::vector<JointFit>& fits, std::size_t answered, const SolveOptions& options);

/// A criterion's tilt over the band, counted from least crosstalk at the session's frequency, radians.
struct BandRoot {
  double offset_rad = 0;
  double variance_rad2 = 0;  ///< by the signals at the band's frequencies alone
  double common_u_rad = 0;   ///< by causes that all frequencies share
};

/// The tilt x at which Σ w_f c(x − φ0(f), shape(f)) = 0, with c the criterion (geometry.hpp): the derivative of the summed squares, or the
/// difference of the two directions' sums. For small angles least crosstalk is Σ w φ0 / Σ w, and equal crosstalk Σ w (φ0 σ − η s) / Σ w σ.
/// Of several roots the one nearest to the band's least crosstalk. Returns nothing if there is none within 6° of it.
std::optional<BandRoot> band_root(CriterionKind kind, const BandFit& band);

/// The root as a tilt of the answer. `least`: least crosstalk at the session's frequency. The signal's part of its uncertainty is replaced
/// by that of the band, because both count from the same recordings.
CriterionTilt band_tilt(const BandRoot& root, const BandFit& band, const CriterionTilt& least);

/// Standard uncertainty of the root's distance from least crosstalk at the session's frequency, degrees.
double u_from_single_deg(const BandRoot& root, const BandFit& band);

/// 10·log10 of the weighted mean over the frequencies of the mean square of both directions. offset_rad: as in BandRoot.
double band_total_db(double offset_rad, const BandFit& band);
/// The same at one frequency.
double total_db_at(double offset_rad, const BandPoint& point);

}  // namespace evenwall::internal::solve
