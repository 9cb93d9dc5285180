// SPDX-License-Identifier: GPL-3.0-or-later
// Waits for other programs: for a writer to a pipe, or for the lock of a file.
#pragma once

#include <chrono>
#include <functional>
#include <string>

namespace evenwall::internal::storage {

/// How long this process waits for other programs, and how it reports the wait.
struct WaitPolicy {
  std::chrono::milliseconds limit{30'000};
  std::chrono::milliseconds notice_after{5'000};
  std::function<void(const std::string& line)> notice;  ///< receives the notice, once per wait; if empty, the wait is silent
  std::string longer;                                   ///< advice on how to wait longer, for the error message: ", or …"
};

/// Sets the policy of all waits to come. Requires: no other thread runs.
void set_wait_policy(WaitPolicy policy);

struct Awaited {
  std::string name;    ///< the file's name, escaped for display
  std::string found;   ///< the reason for the wait, as a clause: "another program holds the lock of this file"
  std::string remedy;  ///< how to end the wait, as an imperative sentence without its full stop
};

/// Calls `is_there`, which must not block, until it returns true. Throws: Error(kInput) after the policy's limit, and the errors of
/// `is_there`.
void wait_for(const Awaited& awaited, const std::function<bool()>& is_there);

/// Waits until a program has opened the FIFO for writing, or has written to it. A program that then sends nothing counts as a slow source:
/// later reads wait for it without limit. Pipes without a name never wait. Requires: `fifo` was opened with O_NONBLOCK. Throws:
/// Error(kInput).
void wait_for_writer(int fifo, const std::string& name);

}  // namespace evenwall::internal::storage
