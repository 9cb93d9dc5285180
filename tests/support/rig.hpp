// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the reading of each passage from a cartridge, record and amplifier as vectors, without any code of the analysis.
#pragma once

#include <cmath>
#include <complex>
#include <cstdint>
#include <random>
#include <string>
#include <vector>

#include "evenwall/model.hpp"

namespace rig {

using C = std::complex<double>;

/// mt19937_64 with our own uniform and normal: std:: distributions differ between libraries.
class Draw {
 public:
  explicit Draw(std::uint64_t seed) : engine_(seed) {}
  double uniform(double low, double high) { return low + (high - low) * static_cast<double>(engine_() >> 11) * 0x1p-53; }
  double normal() {
    const double u = std::max(uniform(0, 1), 1e-300);
    return std::sqrt(-2 * std::log(u)) * std::cos(2 * 3.14159265358979323846 * uniform(0, 1));
  }

 private:
  std::mt19937_64 engine_;
};

struct Rig {
  double delta_left_deg = 0, delta_right_deg = 0;  // generator errors
  double kappa_left_deg = 0, kappa_right_deg = 0;  // cutting-azimuth errors
  C coupling_rl = 0, coupling_lr = 0;              // generator coupling: right into left, left into right
  C gain_left = 1, gain_right = 1;
  C electronics_rl = 0, electronics_lr = 0;
  double cut_ratio = 1;  // left-only amplitude over right-only amplitude
};

/// Outputs (L, R) for a groove that moves the stylus along one wall's axis, turned by the cutting-azimuth error.
struct Outputs {
  C left, right;
};

inline Outputs outputs(const Rig& r, double tilt_deg, bool left_groove, bool with_gains = true) {
  const double s = 3.14159265358979323846 / 180;
  // Stylus motion: u_L = (1, 1)/√2, u_R = (1, −1)/√2, turned clockwise by the cutting-azimuth error.
  const auto turn = [&](double x, double y, double angle_deg) {
    const double a = angle_deg * s;
    return std::pair(x * std::cos(a) + y * std::sin(a), -x * std::sin(a) + y * std::cos(a));
  };
  const double h = std::sqrt(0.5);
  const auto [mx, my] = left_groove ? turn(h, h, r.kappa_left_deg) : turn(h, -h, r.kappa_right_deg);
  const auto [lx, ly] = turn(h, h, tilt_deg + r.delta_left_deg);
  const auto [rx, ry] = turn(h, -h, tilt_deg + r.delta_right_deg);
  const double amplitude = left_groove ? r.cut_ratio : 1.0;
  C left = amplitude * (lx * mx + ly * my);
  C right = amplitude * (rx * mx + ry * my);
  const C coupled_left = left + r.coupling_rl * right;
  const C coupled_right = right + r.coupling_lr * left;
  if (!with_gains) return {coupled_left, coupled_right};
  left = r.gain_left * coupled_left;
  right = r.gain_right * coupled_right;
  return {left + r.electronics_rl * right, right + r.electronics_lr * left};
}

/// True values by brute force, in degrees: the minimum of |L_R/L_L|² + |R_L/R_R|² and the equalities of the two from −8° to 8°.
inline C leak_rl(const Rig& r, double t) { return outputs(r, t, false, false).left * r.cut_ratio / outputs(r, t, true, false).left; }
inline C leak_lr(const Rig& r, double t) { return outputs(r, t, true, false).right / r.cut_ratio / outputs(r, t, false, false).right; }

inline double least_truth_deg(const Rig& r) {
  const auto f = [&](double t) { return std::norm(leak_rl(r, t)) + std::norm(leak_lr(r, t)); };
  double best = 0;
  for (double t = -8; t <= 8; t += 0.05) best = f(t) < f(best) ? t : best;
  double step = 0.05;
  while (step > 1e-10) {
    if (f(best + step) < f(best))
      best += step;
    else if (f(best - step) < f(best))
      best -= step;
    else
      step *= 0.5;
  }
  return best;
}

inline std::vector<double> equal_truths_deg(const Rig& r) {
  const auto f = [&](double t) { return std::norm(leak_rl(r, t)) - std::norm(leak_lr(r, t)); };
  std::vector<double> roots;
  for (double t = -8; t < 8; t += 0.05) {
    if (f(t) * f(t + 0.05) > 0) continue;
    double low = t, high = t + 0.05;
    for (int i = 0; i < 100; ++i) {
      const double mid = 0.5 * (low + high);
      (f(low) * f(mid) <= 0 ? high : low) = mid;
    }
    roots.push_back(0.5 * (low + high));
  }
  return roots;
}

inline Rig random_rig(Draw& draw) {
  Rig r;
  const double common = draw.uniform(-1.3, 1.3), shear = draw.uniform(-1.5, 1.5);
  r.delta_left_deg = -common + shear;
  r.delta_right_deg = -common - shear;
  r.kappa_left_deg = draw.uniform(-0.5, 0.5);
  r.kappa_right_deg = draw.uniform(-0.5, 0.5);
  r.coupling_rl = std::polar(draw.uniform(1e-3, 1e-2), draw.uniform(-3.14, 3.14));
  r.coupling_lr = std::polar(draw.uniform(1e-3, 1e-2), draw.uniform(-3.14, 3.14));
  r.gain_left = std::polar(std::pow(10.0, draw.uniform(-1, 1) / 20), draw.uniform(-0.2, 0.2));
  return r;
}

/// A step as `measure` would return it, with noise of standard deviation u in each part of each ratio.
inline evenwall::Step step(const Rig& r, double true_tilt_deg, double logged_deg, double u, Draw& draw, int index) {
  const Outputs from_left = outputs(r, true_tilt_deg, true), from_right = outputs(r, true_tilt_deg, false);
  const C noise_rl = u * C(draw.normal(), draw.normal()), noise_lr = u * C(draw.normal(), draw.normal());
  const C q_rl = from_right.left / from_right.right + noise_rl, q_lr = from_left.right / from_left.left + noise_lr;
  const C lateral = (from_left.left / r.cut_ratio + from_right.left) / (from_left.right / r.cut_ratio + from_right.right);
  const double balance = std::abs(from_left.left) / std::abs(from_right.right);
  const C gain = std::polar(balance, std::arg(lateral));
  const auto leak = [&](C q, C x) {
    evenwall::Leak l;
    l.same_passage = {q, u, u, 0};
    l.re = x.real();
    l.im = x.imag();
    l.db = 20 * std::log10(std::abs(x));
    l.u_re = l.u_im = u;
    return l;
  };
  evenwall::LogEntry log;
  log.capture = "step-" + std::to_string(index);
  log.tilt_deg = logged_deg;
  evenwall::Measurement measured;
  measured.crosstalk = {1000.0, leak(q_rl, q_rl / gain), leak(q_lr, q_lr * gain)};
  measured.crosstalk_spectrum = {measured.crosstalk};
  measured.balance_db = 20 * std::log10(balance);
  measured.u_balance_db = 0.001;
  measured.interchannel_phase_deg = std::arg(lateral) / 3.14159265358979323846 * 180;
  const auto passage = [](evenwall::Driven driven, double at_s) {
    evenwall::Passage p;
    p.driven = driven;
    p.start_s = at_s;
    p.end_s = at_s + 30;  // long enough for the covariance to count as known
    p.frequency_hz = 1000;
    if (driven == evenwall::Driven::kBoth) p.relation = evenwall::Relation::kInPhase;
    return p;
  };
  measured.passages = {passage(evenwall::Driven::kLeft, 2), passage(evenwall::Driven::kRight, 33), passage(evenwall::Driven::kBoth, 64)};
  return {log, measured};
}

}  // namespace rig
