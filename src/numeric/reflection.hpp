// SPDX-License-Identifier: GPL-3.0-or-later
// One reflection of a small block of rows.
#pragma once

#include <cstddef>

namespace evenwall::internal::numeric {

/// Reflects the first column of a block onto its first row, in place (Householder). Afterwards the first row, from its second column on,
/// is R's, and the rows below have nothing of the first column's unknown. What stands in the first column then is of no use.
///
/// block: `rows` × `width` numbers, the start of each row `stride` after that of the one before. scratch: `width` numbers.
/// Returns R's diagonal element, 0 if the column is zero: the block is then as it was. Costs 4·rows·width operations.
double reflect_first_column(double* block, std::size_t rows, std::size_t width, std::size_t stride, double* scratch);

}  // namespace evenwall::internal::numeric
