// What the process may still do while it decodes files from elsewhere.
#pragma once

namespace evenwall {

/// Gives up, for good and for all threads that start later: making, changing and removing files, whoever owns them and whatever their modes
/// and times, programs, sockets, io_uring, and signals to others. Reading, and descriptors that are open, stay as they were. What the
/// kernel does not know (Landlock from 5.13 on, its parts later; seccomp) stays as it was too.
///
/// Requires: no other thread runs, for it would not be confined. Throws: nothing.
void confine() noexcept;

}  // namespace evenwall
