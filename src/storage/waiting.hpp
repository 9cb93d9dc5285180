// SPDX-License-Identifier: GPL-3.0-or-later
// Waiting for another program: for a writer to a pipe, for the lock of a file.
#pragma once

#include <chrono>
#include <functional>
#include <string>

namespace evenwall::internal::storage {

/// How long this process waits for other programs, and how it reports that it does.
struct WaitPolicy {
  std::chrono::milliseconds limit{30'000};
  std::chrono::milliseconds notice_after{5'000};
  std::function<void(const std::string& line)> notice;  ///< takes the notice, once a wait; empty: the wait is silent
  std::string longer;                                   ///< how to wait longer, for the refusal: ", or …"
};

/// Sets the policy of all waits to come. Requires: no other thread runs.
void set_wait_policy(WaitPolicy policy);

struct Awaited {
  std::string name;    ///< the file, fit to show
  std::string found;   ///< why there is a wait, as a clause: "another program holds the lock of this file"
  std::string remedy;  ///< what ends it, as an imperative
};

/// Calls `is_there`, which must not block, until it returns true. Throws: Error(kInput) after the policy's limit, and what `is_there`
/// throws.
void wait_for(const Awaited& awaited, const std::function<bool()>& is_there);

/// Waits until a program has opened the FIFO for writing, or has written to it; a program that then sends nothing is waited for without
/// limit, as a slow source. Pipes without a name never wait. Requires: `fifo` was opened with O_NONBLOCK. Throws: Error(kInput).
void wait_for_writer(int fifo, const std::string& name);

}  // namespace evenwall::internal::storage
