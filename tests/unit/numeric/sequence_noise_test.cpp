// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/sequence_noise.hpp"

#include <Eigen/Cholesky>
#include <cmath>

#include "support/catch.hpp"

using namespace evenwall::internal::numeric;

namespace {

struct Example {
  Eigen::VectorXd own, setting, walk;
  std::vector<Eigen::Index> setting_of;
  [[nodiscard]] SequenceNoise noise() const { return {own, setting_of, setting, walk}; }
  /// The whole covariance matrix, computed entry by entry.
  [[nodiscard]] Eigen::MatrixXd covariance() const {
    const Eigen::Index n = own.size();
    Eigen::MatrixXd v(n, n);
    for (Eigen::Index i = 0; i < n; ++i) {
      for (Eigen::Index k = 0; k < n; ++k) {
        const Eigen::Index a = setting_of[static_cast<std::size_t>(i)], b = setting_of[static_cast<std::size_t>(k)];
        v(i, k) = (i == k ? own[i] : 0.0) + (a == b ? setting[a] : 0.0) + walk.head(std::min(a, b) + 1).sum();
      }
    }
    return v;
  }
};

Example example(std::vector<Eigen::Index> setting_of, bool walks) {
  const auto n = static_cast<Eigen::Index>(setting_of.size());
  const Eigen::Index settings = setting_of.back() + 1;
  Example e{Eigen::VectorXd(n), Eigen::VectorXd(settings), Eigen::VectorXd::Zero(settings), std::move(setting_of)};
  for (Eigen::Index i = 0; i < n; ++i) e.own[i] = 0.1 + 0.05 * static_cast<double>((7 * i) % 5);
  for (Eigen::Index s = 0; s < settings; ++s) {
    e.setting[s] = s % 3 == 1 ? 0.0 : 0.4 + 0.1 * static_cast<double>(s);
    if (walks) e.walk[s] = 0.2 + 0.1 * static_cast<double>(s % 2);
  }
  return e;
}

}  // namespace

TEST_CASE("Whitened columns have the inner products that the inverse of the whole matrix gives") {
  for (const bool walks : {false, true}) {
    for (const std::vector<Eigen::Index>& setting_of :
         {std::vector<Eigen::Index>{0}, {0, 0, 0}, {0, 1, 2, 3, 4}, {0, 0, 1, 1, 1, 2, 3, 3}}) {
      const Example e = example(setting_of, walks);
      const Eigen::MatrixXd v = e.covariance();
      const SequenceNoise noise = e.noise();
      Eigen::MatrixXd columns(v.rows(), 3);
      for (Eigen::Index i = 0; i < v.rows(); ++i) columns.row(i) << 1, std::sin(1.7 * static_cast<double>(i)), static_cast<double>(i * i);
      const Eigen::MatrixXd wanted = columns.transpose() * v.llt().solve(columns);
      noise.whiten(columns);
      INFO("walks " << walks << ", captures " << v.rows());
      CHECK((columns.transpose() * columns - wanted).cwiseAbs().maxCoeff() < 1e-11 * (1 + wanted.cwiseAbs().maxCoeff()));
      double log_determinant = 0;
      for (Eigen::Index i = 0; i < noise.size(); ++i) log_determinant += noise.log_variance(i);
      CHECK_THAT(log_determinant, WithinAbs(2 * Eigen::MatrixXd(v.llt().matrixL()).diagonal().array().log().sum(), 1e-11));
    }
  }
}

TEST_CASE("The whitened mark of a setting equals its whitened column") {
  for (const bool walks : {false, true}) {
    const Example e = example({0, 0, 1, 1, 1, 2, 3, 3}, walks);
    const SequenceNoise noise = e.noise();
    for (Eigen::Index s = 0; s < 4; ++s) {
      Eigen::MatrixXd column = Eigen::MatrixXd::Zero(8, 1);
      for (Eigen::Index i = 0; i < 8; ++i) column(i, 0) = e.setting_of[static_cast<std::size_t>(i)] == s ? 1 : 0;
      noise.whiten(column);
      std::vector<double> mark;
      const Eigen::Index first = noise.whitened_mark(s, mark);
      INFO("walks " << walks << ", setting " << s);
      if (!walks) CHECK(static_cast<Eigen::Index>(mark.size()) == (column.array() != 0).count());
      Eigen::VectorXd full = Eigen::VectorXd::Zero(8);
      for (std::size_t i = 0; i < mark.size(); ++i) full[first + static_cast<Eigen::Index>(i)] = mark[i];
      CHECK((full - column).cwiseAbs().maxCoeff() < 1e-14);
    }
  }
}
