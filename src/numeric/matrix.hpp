// SPDX-License-Identifier: GPL-3.0-or-later
// Includes the Eigen matrices that other modules exchange with numeric. Outside this module, Eigen is included only through this header.
#pragma once

#include <Eigen/Cholesky>  // IWYU pragma: export
#include <Eigen/Core>      // IWYU pragma: export
#include <Eigen/LU>        // IWYU pragma: export
