// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/reflection.hpp"

#include <Eigen/QR>
#include <vector>

#include "numeric/matrix.hpp"
#include "support/catch.hpp"
#include "support/rig.hpp"

using namespace evenwall::internal::numeric;

namespace {

using RowMatrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

}  // namespace

TEST_CASE("Reflecting a block column by column gives the R of its QR factorisation, except for signs") {
  rig::Draw draw(5);
  for (int round = 0; round < 50; ++round) {
    const Eigen::Index rows = 4 + round % 5, width = 3 + round % 2;
    RowMatrix block = RowMatrix::NullaryExpr(rows, width, [&] { return draw.normal(); });
    // R from Eigen's own QR; the sign of each row may differ.
    const Eigen::MatrixXd r = Eigen::HouseholderQR<Eigen::MatrixXd>(block).matrixQR().topRows(width).triangularView<Eigen::Upper>();
    std::vector<double> scratch(static_cast<std::size_t>(width));
    for (Eigen::Index k = 0; k < width; ++k) {
      block(k, k) = reflect_first_column(&block(k, k), static_cast<std::size_t>(rows - k), static_cast<std::size_t>(width - k),
                                         static_cast<std::size_t>(width), scratch.data());
      const double sign = block(k, k) * r(k, k) > 0 ? 1 : -1;
      for (Eigen::Index c = k; c < width; ++c) CHECK(std::abs(block(k, c) - sign * r(k, c)) < 1e-13);
    }
  }
}

TEST_CASE("A column of zeros leaves the block as it was") {
  std::vector<double> block{0, 1, 2, 0, 3, 4}, scratch(3);
  CHECK(reflect_first_column(block.data(), 2, 3, 3, scratch.data()) == 0);
  CHECK(block == std::vector<double>{0, 1, 2, 0, 3, 4});
}
