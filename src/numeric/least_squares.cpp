#include "numeric/least_squares.hpp"

#include <Eigen/QR>

namespace evenwall {

LeastSquaresFit least_squares(const Eigen::MatrixXd& design, const Eigen::VectorXd& values) {
  // Unknowns come in radians, nepers and pure numbers: without this the largest column's rounding swamps the smallest.
  Eigen::VectorXd length = design.colwise().norm();
  for (double& l : length) l = l > 0 ? l : 1.0;
  const Eigen::MatrixXd scaled = design * length.cwiseInverse().asDiagonal();
  const Eigen::HouseholderQR<Eigen::MatrixXd> qr(scaled);
  Eigen::VectorXd x = qr.solve(values);
  x += qr.solve(values - scaled * x);  // wins back what the first pass lost where residuals are small
  const Eigen::Index columns = design.cols();
  Eigen::MatrixXd root = Eigen::MatrixXd::Identity(columns, columns);
  qr.matrixQR().topRows(columns).triangularView<Eigen::Upper>().solveInPlace(root);
  root = length.cwiseInverse().asDiagonal() * root;
  return {x.cwiseQuotient(length), root * root.transpose(), (values - scaled * x).squaredNorm()};
}

}  // namespace evenwall
