// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/sequence_noise.hpp"

#include <cassert>
#include <cmath>

namespace evenwall::internal::numeric {

SequenceNoise::SequenceNoise(const Eigen::VectorXd& own, const std::vector<Eigen::Index>& setting_of, const Eigen::VectorXd& setting,
                             const Eigen::VectorXd& walk) {
  assert(own.size() == static_cast<Eigen::Index>(setting_of.size()));
  assert(setting.size() == walk.size() && !(own.array() <= 0).any());
  rows_.reserve(setting_of.size());
  // Covariance of (the setting's error, the walk), given the captures so far.
  double of_setting = 0, of_both = 0, of_walk = 0;
  for (std::size_t i = 0; i < setting_of.size(); ++i) {
    const Eigen::Index s = setting_of[i];
    const bool new_setting = i == 0 || s != setting_of[i - 1];
    assert(s == (i == 0 ? 0 : setting_of[i - 1] + (new_setting ? 1 : 0)));
    if (new_setting) {
      first_.push_back(static_cast<Eigen::Index>(i));
      of_setting = setting[s];
      of_both = 0;
      of_walk += walk[s];
    }
    const double with_setting = of_setting + of_both;
    const double with_walk = of_both + of_walk;
    const double variance = own[static_cast<Eigen::Index>(i)] + with_setting + with_walk;
    rows_.push_back({new_setting, 1 / std::sqrt(variance), with_setting / variance, with_walk / variance});
    of_setting -= with_setting * with_setting / variance;
    of_both -= with_setting * with_walk / variance;
    of_walk -= with_walk * with_walk / variance;
  }
  first_.push_back(size());
}

void SequenceNoise::whiten(Eigen::Ref<Eigen::MatrixXd> columns) const {
  assert(columns.rows() == size());
  for (Eigen::Index c = 0; c < columns.cols(); ++c) {
    double setting = 0, walk = 0;
    for (Eigen::Index i = 0; i < size(); ++i) {
      const Row& row = rows_[static_cast<std::size_t>(i)];
      if (row.new_setting) setting = 0;
      const double news = columns(i, c) - setting - walk;
      setting += row.setting_gain * news;
      walk += row.walk_gain * news;
      columns(i, c) = row.over_sd * news;
    }
  }
}

Eigen::Index SequenceNoise::whitened_mark(Eigen::Index setting, std::vector<double>& values) const {
  const Eigen::Index first = first_[static_cast<std::size_t>(setting)];
  const Eigen::Index end = first_[static_cast<std::size_t>(setting) + 1];
  double of_setting = 0, of_walk = 0;
  for (Eigen::Index i = first; i < size() && (i < end || of_walk != 0); ++i) {
    const Row& row = rows_[static_cast<std::size_t>(i)];
    if (row.new_setting) of_setting = 0;
    const double news = (i < end ? 1.0 : 0.0) - of_setting - of_walk;
    of_setting += row.setting_gain * news;
    of_walk += row.walk_gain * news;
    values.push_back(row.over_sd * news);
  }
  return first;
}

}  // namespace evenwall::internal::numeric
