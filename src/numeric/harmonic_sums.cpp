// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/harmonic_sums.hpp"

#include <array>
#include <cassert>
#include <cmath>
#include <numbers>

namespace evenwall::internal::numeric {
namespace {

constexpr std::size_t kPhasorSteps = 256;  // products before an angle is computed afresh, because their rounding adds up

/// Steps through e^{ikφ}, beginning with k = 1.
struct Powers {
  double c, s;
  double re = 1, im = 0;
  explicit Powers(const std::complex<double>& z) : c(z.real()), s(z.imag()) {}
  void next() {
    const double turned = re * c - im * s;
    im = re * s + im * c;
    re = turned;
  }
};

double radians_per_s(double rpm) { return 2 * std::numbers::pi * rpm / 60; }

}  // namespace

TurnPhasors turn_phasors(const std::vector<double>& time_s, double middle_s, double rpm) {
  TurnPhasors phasors;
  phasors.reserve(time_s.size());
  for (const double t : time_s) phasors.push_back(std::polar(1.0, radians_per_s(rpm) * (t - middle_s)));
  return phasors;
}

std::vector<TurnPhasors> turn_phasors(const std::vector<double>& time_s, double middle_s, const std::vector<double>& rpm) {
  std::vector<TurnPhasors> all;
  for (std::size_t i = 0; i < rpm.size() && i < 2; ++i) all.push_back(turn_phasors(time_s, middle_s, rpm[i]));
  if (rpm.size() < 3) return all;
  const TurnPhasors step = turn_phasors(time_s, middle_s, rpm[1] - rpm[0]);
  for (std::size_t i = 2; i < rpm.size(); ++i) {
    if (std::abs(rpm[i] - rpm[i - 1] - (rpm[1] - rpm[0])) > 1e-12 * rpm[i]) {
      all.push_back(turn_phasors(time_s, middle_s, rpm[i]));
      continue;
    }
    TurnPhasors turned(time_s.size());
    const std::complex<double>* before = all.back().data();
    const std::complex<double>* by = step.data();
    for (std::complex<double>& z : turned) {
      z = {before->real() * by->real() - before->imag() * by->imag(), before->real() * by->imag() + before->imag() * by->real()};
      ++before, ++by;
    }
    all.push_back(std::move(turned));
  }
  return all;
}

TurnPhasors even_turn_phasors(double first_s, double step_s, std::size_t count, double rpm) {
  TurnPhasors phasors(count);
  Powers step(std::polar(1.0, radians_per_s(rpm) * step_s));
  for (std::size_t f = 0; f < count; ++f) {
    if (f % kPhasorSteps == 0) {
      const auto z = std::polar(1.0, radians_per_s(rpm) * (first_s + step_s * static_cast<double>(f)));
      step.re = z.real();
      step.im = z.imag();
    } else {
      step.next();
    }
    phasors[f] = {step.re, step.im};
  }
  return phasors;
}

// The loops below run once per row. They use plain arrays and pointers, so that no access is checked.

Eigen::MatrixXd harmonic_information(const TurnPhasors& phasors, const Eigen::VectorXd& weights, int harmonics) {
  assert(harmonics >= 0 && harmonics <= kMostHarmonics && phasors.size() == static_cast<std::size_t>(weights.size()));
  const int orders = 2 * harmonics;
  std::array<double, 2 * kMostHarmonics + 1> cosine_sums{}, sine_sums{};
  double* const cosines = cosine_sums.data();
  double* const sines = sine_sums.data();
  const double* weight = weights.data();
  for (const std::complex<double>& z : phasors) {
    const double w = *weight++;
    Powers power(z);
    double re = w, im = 0;  // of the weight times the power
    cosines[0] += w;
    for (int m = 1; m <= orders; ++m) {
      const double turned = re * power.c - im * power.s;
      im = re * power.s + im * power.c;
      re = turned;
      cosines[m] += re;
      sines[m] += im;
    }
  }
  const auto cosine = [&](Eigen::Index m) { return cosines[std::abs(m)]; };
  const auto sine = [&](Eigen::Index m) { return m < 0 ? -sines[-m] : sines[m]; };
  Eigen::MatrixXd information(1 + 2 * harmonics, 1 + 2 * harmonics);
  information(0, 0) = cosines[0];
  for (Eigen::Index i = 1; i <= harmonics; ++i) {
    information(0, 2 * i - 1) = information(2 * i - 1, 0) = cosine(i);
    information(0, 2 * i) = information(2 * i, 0) = sine(i);
    for (Eigen::Index j = 1; j <= harmonics; ++j) {
      information(2 * i - 1, 2 * j - 1) = 0.5 * (cosine(i - j) + cosine(i + j));
      information(2 * i, 2 * j) = 0.5 * (cosine(i - j) - cosine(i + j));
      information(2 * i - 1, 2 * j) = information(2 * j, 2 * i - 1) = 0.5 * (sine(i + j) - sine(i - j));
    }
  }
  return information;
}

Eigen::VectorXcd harmonic_pull(const TurnPhasors& phasors, const Eigen::VectorXcd& values, int harmonics) {
  assert(harmonics >= 0 && harmonics <= kMostHarmonics && phasors.size() == static_cast<std::size_t>(values.size()));
  std::array<double, 2 + 4 * kMostHarmonics> sums{};  // real and imaginary part of each
  double* const all = sums.data();
  const std::complex<double>* at = values.data();
  for (const std::complex<double>& z : phasors) {
    const double re = at->real(), im = at->imag();
    ++at;
    Powers power(z);
    all[0] += re;
    all[1] += im;
    double* sum = all + 2;
    for (int k = 1; k <= harmonics; ++k, sum += 4) {
      power.next();
      sum[0] += power.re * re;
      sum[1] += power.re * im;
      sum[2] += power.im * re;
      sum[3] += power.im * im;
    }
  }
  Eigen::VectorXcd pull(1 + 2 * harmonics);
  for (Eigen::Index c = 0; c < pull.size(); ++c) pull[c] = {all[2 * c], all[2 * c + 1]};
  return pull;
}

Eigen::VectorXcd harmonic_values(const TurnPhasors& phasors, const Eigen::VectorXcd& coefficients) {
  assert(coefficients.size() % 2 == 1 && coefficients.size() <= 1 + 2 * kMostHarmonics);
  const auto harmonics = static_cast<int>((coefficients.size() - 1) / 2);
  std::array<double, 2 + 4 * kMostHarmonics> parts{};
  for (Eigen::Index c = 0; c < coefficients.size(); ++c) {
    parts[static_cast<std::size_t>(2 * c)] = coefficients[c].real();
    parts[static_cast<std::size_t>(2 * c + 1)] = coefficients[c].imag();
  }
  const double* const all = parts.data();
  Eigen::VectorXcd values(static_cast<Eigen::Index>(phasors.size()));
  std::complex<double>* at = values.data();
  for (const std::complex<double>& z : phasors) {
    Powers power(z);
    double re = all[0], im = all[1];
    const double* part = all + 2;
    for (int k = 1; k <= harmonics; ++k, part += 4) {
      power.next();
      re += power.re * part[0] + power.im * part[2];
      im += power.re * part[1] + power.im * part[3];
    }
    *at++ = {re, im};
  }
  return values;
}

}  // namespace evenwall::internal::numeric
