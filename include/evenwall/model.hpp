// SPDX-License-Identifier: GPL-3.0-or-later
// Includes all structs of the data flow, in the order in which they are made: audio, passages, reading, session, solution, survey.
//
// Names are the JSON keys (docs/formats.md). Tilt is the cartridge's azimuth angle, positive clockwise seen from the front. The names give
// the units: degrees, decibels, hertz, seconds. u_… is a standard uncertainty; interval95 is {low, high}. An absent value is std::nullopt,
// never 0 or NaN.
#pragma once

#include "evenwall/model/audio.hpp"
#include "evenwall/model/passage.hpp"
#include "evenwall/model/reading.hpp"
#include "evenwall/model/session.hpp"
#include "evenwall/model/session_facts.hpp"
#include "evenwall/model/solution.hpp"
#include "evenwall/model/survey.hpp"
#include "evenwall/model/warning.hpp"
