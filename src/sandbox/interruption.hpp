// SPDX-License-Identifier: GPL-3.0-or-later
// Handles SIGINT, SIGTERM and SIGHUP: removes temporary files and ends with exit status 130, 143 or 129.
#pragma once

namespace evenwall::internal::sandbox {

inline constexpr int kSignalled = 128;  ///< exit status, to which the signal's number is added: the shell's convention
inline constexpr int kNoAnswer = 1;     ///< exit status of a run without an answer

/// Opens /dev/null on those of the descriptors 0, 1 and 2 that are closed, so that no data file can get their numbers.
void fill_closed_descriptors();

/// From now on a closed pipe or a full quota makes write fail with an error instead of raising a signal.
void report_failed_writes();

/// Registers a function that ends the programs which this process has started; it is called if a signal ends this process. Requires: the
/// function may be called in a signal handler; no other thread runs yet.
void end_with_this_process(void (*others)());

/// Starts a thread that waits for SIGINT, SIGTERM and SIGHUP, then removes the unfinished files and folders of this process and ends it.
/// (Until then a handler does so, from before main() on. abort() does the same, with exit status 1.) Requires: no other thread runs yet.
void watch_for_interruption();

}  // namespace evenwall::internal::sandbox
