// SPDX-License-Identifier: GPL-3.0-or-later
// SIGINT, SIGTERM and SIGHUP: no temporary file stays behind, exit status 130, 143 or 129.
#pragma once

namespace evenwall::internal::sandbox {

inline constexpr int kSignalled = 128;  ///< exit status, plus the signal: the shell's convention
inline constexpr int kNoAnswer = 1;     ///< exit status

/// Opens /dev/null on whichever of descriptors 0, 1, 2 is closed, so that no data file can land there.
void fill_closed_descriptors();

/// From now on a closed pipe or a full quota is an error of write, not a signal.
void report_failed_writes();

/// Registers what ends the programs that this process has started, for when a signal ends it. Requires: callable in a signal handler; no
/// other thread runs yet.
void end_with_this_process(void (*others)());

/// From now on a thread waits for SIGINT, SIGTERM and SIGHUP, removes what this process has made and not finished, and ends it. (Until
/// then a handler does so, from before main() on. abort() does the same, with exit status 1.) Requires: no other thread runs yet.
void watch_for_interruption();

}  // namespace evenwall::internal::sandbox
