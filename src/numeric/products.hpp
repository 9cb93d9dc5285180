// SPDX-License-Identifier: GPL-3.0-or-later
// Multiplies plain matrices. Eigen compiles a product anew for each kind of operand (a block, a transposed one, a part of complex
// numbers), which took a sixth of this module's compilation time. Use these functions if an operand is small or would be copied anyway.
#pragma once

#include <Eigen/Core>

namespace evenwall::internal::numeric {

inline Eigen::MatrixXd times(const Eigen::MatrixXd& a, const Eigen::MatrixXd& b) { return a * b; }
inline Eigen::VectorXd times_vector(const Eigen::MatrixXd& a, const Eigen::VectorXd& b) { return a * b; }

}  // namespace evenwall::internal::numeric
