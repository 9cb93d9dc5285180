// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/combine.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "measure/method_constants.hpp"
#include "numeric/matrix.hpp"

namespace evenwall::internal::measure {
namespace {

Eigen::Matrix2d covariance_of(const ComplexEstimate& e) {
  Eigen::Matrix2d c;
  const double cross = e.correlation * e.u_re * e.u_im;
  c << e.u_re * e.u_re + kLeastVariance, cross, cross, e.u_im * e.u_im + kLeastVariance;
  return c;
}

bool same_tone(double a_hz, double b_hz) { return std::abs(a_hz - b_hz) <= kSameTone * b_hz; }

}  // namespace

ComplexEstimate weighted_mean(const std::vector<ComplexEstimate>& group) {
  assert(!group.empty());
  if (group.size() == 1) return group.front();
  Eigen::Matrix2d information = Eigen::Matrix2d::Zero();
  Eigen::Vector2d pull = Eigen::Vector2d::Zero();
  for (const ComplexEstimate& e : group) {
    const Eigen::Matrix2d weight = covariance_of(e).inverse();
    information += weight;
    pull += weight * Eigen::Vector2d(e.value.real(), e.value.imag());
  }
  Eigen::Matrix2d covariance = information.inverse();
  const Eigen::Vector2d mean = covariance * pull;
  double chi2 = 0;
  double groove = 0;  // the lean is independent from stretch to stretch
  double in_third_octave = 0;
  for (const ComplexEstimate& e : group) {
    const double share = 0.5 * (covariance * covariance_of(e).inverse()).trace();
    groove += share * share * e.u_groove * e.u_groove;
    in_third_octave += share * e.rms_in_third_octave * e.rms_in_third_octave;
    const Eigen::Vector2d r = Eigen::Vector2d(e.value.real(), e.value.imag()) - mean;
    chi2 += r.dot(covariance_of(e).inverse() * r);
  }
  covariance *= std::max(1.0, chi2 / (2.0 * static_cast<double>(group.size() - 1)));
  const double u_re = std::sqrt(covariance(0, 0));
  const double u_im = std::sqrt(covariance(1, 1));
  return {{mean(0), mean(1)}, u_re, u_im, covariance(0, 1) / (u_re * u_im), std::sqrt(groove), std::sqrt(in_third_octave)};
}

std::optional<CombinedPassages> combine(const std::vector<HeardPassage>& heard, Driven driven, double frequency_hz) {
  std::vector<const HeardPassage*> group;
  for (const HeardPassage& p : heard) {
    if (p.passage.driven == driven && same_tone(*p.passage.frequency_hz, frequency_hz)) group.push_back(&p);
  }
  if (driven == Driven::kBoth) {
    const auto in_phase = [](const HeardPassage* p) { return p->passage.relation == Relation::kInPhase; };
    const Relation used = used_relation(std::any_of(group.begin(), group.end(), in_phase));
    group.erase(std::remove_if(group.begin(), group.end(), [&](const HeardPassage* p) { return p->passage.relation != used; }),
                group.end());
  }
  if (group.empty()) return std::nullopt;
  CombinedPassages result;
  result.passages = static_cast<int>(group.size());
  const auto n = static_cast<double>(group.size());
  std::vector<ComplexEstimate> ratios;
  for (const HeardPassage* p : group) ratios.push_back(p->ratio);
  result.ratio = weighted_mean(ratios);
  double u2 = 0;
  for (const HeardPassage* p : group) {
    result.ln_level += p->ln_level / n;
    u2 += p->u_ln_level * p->u_ln_level;
    const auto& [cosine, sine] = p->once_per_revolution;
    result.warp_mean_square += 0.5 * (cosine.real() * cosine.real() + sine.real() * sine.real()) / n;
  }
  result.u_ln_level = std::sqrt(u2) / n;
  const auto longest = std::max_element(group.begin(), group.end(), [](const HeardPassage* a, const HeardPassage* b) {
    return a->passage.end_s - a->passage.start_s < b->passage.end_s - b->passage.start_s;
  });
  result.band_db = (*longest)->band_db;
  return result;
}

std::vector<double> tone_frequencies(const std::vector<HeardPassage>& heard) {
  std::vector<double> all;
  for (const HeardPassage& p : heard) all.push_back(*p.passage.frequency_hz);
  std::sort(all.begin(), all.end());
  std::vector<double> means;
  for (std::size_t i = 0; i < all.size();) {
    double sum = 0;
    std::size_t j = i;
    for (; j < all.size() && same_tone(all[j], all[i]); ++j) sum += all[j];
    means.push_back(sum / static_cast<double>(j - i));
    i = j;
  }
  return means;
}

}  // namespace evenwall::internal::measure
