// SPDX-License-Identifier: GPL-3.0-or-later
// Applies one Householder reflection to a small block of rows.
#pragma once

#include <cstddef>

namespace evenwall::internal::numeric {

/// Reflects the first column of a block onto its first row, in place (Householder). Afterwards the first row, from its second column on,
/// is the row of R, and the rows below no longer contain the first column's unknown. Do not use the first column afterwards.
///
/// block: `rows` × `width` numbers; each row starts `stride` numbers after the previous one. scratch: `width` numbers.
/// Returns R's diagonal element, or 0 if the column is zero; the block is then unchanged. Costs 4·rows·width operations.
double reflect_first_column(double* block, std::size_t rows, std::size_t width, std::size_t stride, double* scratch);

}  // namespace evenwall::internal::numeric
