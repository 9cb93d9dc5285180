// SIGINT and SIGTERM: no temporary file stays behind, exit status 130 or 143.
#pragma once

namespace evenwall::app {

/// Opens /dev/null on whichever of descriptors 0, 1, 2 is closed, so that no data file can land there.
void fill_closed_descriptors();

/// From now on a closed pipe or a full quota is an error of write, not a signal.
void report_failed_writes();

/// From now on SIGINT and SIGTERM remove the temporary files this process has open and end it. (abort() does so from the beginning, with
/// exit status 1.) Requires: no other thread runs yet.
void watch_for_interruption();

}  // namespace evenwall::app
