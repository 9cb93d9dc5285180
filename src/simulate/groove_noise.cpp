// SPDX-License-Identifier: GPL-3.0-or-later
#include "simulate/groove_noise.hpp"

#include <cmath>

namespace evenwall::internal::simulate {
namespace {

// Elliptic half-band all-pass pair of order 25, transition 100 Hz at 48 kHz (design formulas from memory; the 90° difference computed from
// these coefficients is accurate to 2.7e-4 rad from 100 Hz on, and tests/unit/simulate/groove_noise_test.cpp measures it).
constexpr std::array<double, 6> kFirst{0.2232224720861, 0.5967803729148, 0.8320605941253,
                                       0.9368222699334, 0.9784374283891, 0.9966096842427};
constexpr std::array<double, 6> kSecond{0.0630656286823, 0.4184204109799, 0.7350672939450,
                                        0.8960618980866, 0.9623626412933, 0.9889588292269};
// Poles and gains of a bank of first-order filters; their sum falls by 3 dB per octave (P. Kellet, from memory; same test).
constexpr std::array<double, 6> kPoles{0.99886, 0.99332, 0.96900, 0.86650, 0.55000, -0.7616};
constexpr std::array<double, 6> kGains{0.0555179, 0.0750759, 0.1538520, 0.3104856, 0.5329522, -0.0168980};
constexpr double kDirect = 0.5362;
constexpr double kDelayed = 0.115926;
constexpr int kSettle = 20'000;  // samples until the initial state of the slowest pole has decayed
constexpr int kMeasure = 200'000;

}  // namespace

double GrooveNoise::AllPass::step(double x) {
  const double y = coefficient * (x + out[1]) - in[1];
  in = {x, in[0]};
  out = {y, out[0]};
  return y;
}

GrooveNoise::GrooveNoise(bool pink, Draw draw) : pink_(pink), draw_(draw), scale_(std::sqrt(0.5)) {
  for (std::size_t i = 0; i < kFirst.size(); ++i) {
    first_[i].coefficient = kFirst[i];
    second_[i].coefficient = kSecond[i];
  }
  if (!pink_) return;
  for (int n = 0; n < kSettle; ++n) coloured();
  double power = 0;
  for (int n = 0; n < kMeasure; ++n) power += std::pow(coloured(), 2) / kMeasure;
  scale_ = std::sqrt(0.5 / power);
}

double GrooveNoise::coloured() {
  const double white = draw_.bell();
  if (!pink_) return white;
  double sum = kDirect * white + pink_state_[6];
  for (std::size_t i = 0; i < kPoles.size(); ++i) {
    pink_state_[i] = kPoles[i] * pink_state_[i] + kGains[i] * white;
    sum += pink_state_[i];
  }
  pink_state_[6] = kDelayed * white;
  return sum;
}

Complex GrooveNoise::next() {
  const double x = scale_ * coloured();
  double a = x;
  double b = x;
  for (AllPass& stage : first_) a = stage.step(a);
  for (AllPass& stage : second_) b = stage.step(b);
  const Complex z(delayed_, -b);
  delayed_ = a;
  return z;
}

}  // namespace evenwall::internal::simulate
