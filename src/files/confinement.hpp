// What the process may still do while it decodes files from elsewhere.
#pragma once

#include <string>
#include <vector>

namespace evenwall {

/// What is left to a process that decodes.
struct Leave {
  std::vector<std::string>
      outputs;  ///< written whole: their folders, and what lies below, stay writable, for a temporary file and its renaming
  std::vector<std::string> appended;  ///< written at their end: those that are there stay writable alone, others as `outputs`
  bool temporary_folder = false;      ///< a stream must be spooled
};

/// Gives up, for good and for all threads that start later: new, changed and removed files outside of what is left, programs, sockets and
/// io_uring. Reading, and descriptors that are open, stay as they were. What the kernel does not know (Landlock from 5.13 on, its parts
/// later; seccomp) stays as it was too.
///
/// Requires: no other thread runs, for it would not be confined. Throws: nothing.
void confine(const Leave& leave) noexcept;

}  // namespace evenwall
