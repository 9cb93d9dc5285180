// SPDX-License-Identifier: GPL-3.0-or-later
// How the HTML pages look.
#pragma once

namespace evenwall::internal::report {

/// The style sheet: light and dark, from 390 px up, A4. Colours of data are Okabe and Ito's (Color Universal Design, 2008), the pair that
/// stands out from the paper in each scheme.
extern const char* const kPageStyle;

}  // namespace evenwall::internal::report
