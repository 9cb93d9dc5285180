// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/new_session.hpp"

namespace evenwall::internal::app {

std::string new_step_log() {
  return R"(# The log of a session: one row per recording, in the order of recording. Lines that begin with # are comments.
# The first row below names the columns. To use another column, add its name there and a field to every row.
#
# capture     The name of the recording, relative to this file. This column is required.
# tilt_deg    The tilt in degrees: the azimuth angle of the cartridge, seen from the front, clockwise positive.
# tilt_units  The reading of a ruler of your own (screw turns, shims), in place of tilt_deg.
# tilt_u      The standard uncertainty of the tilt, in the same unit.
# from_s      The start of the step in a longer recording, in seconds. Blank: the start of the recording.
# to_s        The end of the step in a longer recording, in seconds. Blank: the end of the recording.
# use         yes or blank: the step is fitted. no: it is not used. verify: it is compared with its prediction.
#             as_found: it is the state in which the cartridge came in.
# leads       straight or blank: the leads are connected normally. swapped: left and right are exchanged between
#             the cartridge and the preamplifier.
# sequence    A number that gives the place of the row in the order of recording, if the rows have another order.
# approach    up or down: the direction from which the tilt was reached.
# note        Any text. Put a text with commas between quotes.
#
# Example of a row: step-01.wav,-1.5,yes
capture,tilt_deg,use
)";
}

std::string new_session_file() {
  return R"({
  "client": "",
  "workshop": "",
  "operator": "",
  "date": "",
  "cartridge": "",
  "cartridge_model": "",
  "record": "",
  "record_side": "",
  "bands": [],
  "rig": "",
  "notes": ""
}
)";
}

}  // namespace evenwall::internal::app
