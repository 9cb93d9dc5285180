// SPDX-License-Identifier: GPL-3.0-or-later
// Restricts what the process may do while it decodes files from elsewhere.
#pragma once

namespace evenwall::internal::sandbox {

/// Restricts the process, and all threads that start later, to what decoding and measuring need: reading files, memory, threads, clocks,
/// and writing to descriptors that are open. Every other system call fails with EPERM, or with ENOSYS if the C library then uses an older
/// call. The list of allowed calls (seccomp) is sufficient by itself; Landlock, if the kernel has it, is a second barrier for files, TCP,
/// signals and abstract sockets.
///
/// Returns whether the list of allowed calls is in force. It is not in force if the kernel refuses it, or on machines other than x86-64
/// and aarch64. The list is compiled while evenwall is built (call_filter/compile_call_filter.cpp); this function allocates no memory.
///
/// Requires: no other thread runs, because it would not be confined. Throws: nothing.
[[nodiscard]] bool confine() noexcept;

}  // namespace evenwall::internal::sandbox
