// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the style sheet of the HTML pages.
#pragma once

namespace evenwall::internal::report {

/// The style sheet: a light and a dark scheme, screens from 390 px up, A4 paper. The colours of data are those of Okabe and Ito (Color
/// Universal Design, 2008; from memory); each scheme uses the pair that contrasts with its background.
extern const char* const kPageStyle;

}  // namespace evenwall::internal::report
