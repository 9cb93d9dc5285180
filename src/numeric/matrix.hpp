// SPDX-License-Identifier: GPL-3.0-or-later
// The matrices that rooms above hand to numeric and get back: Eigen's, included here and nowhere else outside this room.
#pragma once

#include <Eigen/Cholesky>  // IWYU pragma: export
#include <Eigen/Core>      // IWYU pragma: export
#include <Eigen/LU>        // IWYU pragma: export
