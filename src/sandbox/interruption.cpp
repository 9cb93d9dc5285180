// SPDX-License-Identifier: GPL-3.0-or-later
#include "sandbox/interruption.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <csignal>
#include <cstring>
#include <exception>
#include <system_error>
#include <thread>

#include "storage/unfinished.hpp"

namespace evenwall::internal::sandbox {
namespace {

constexpr const char* kAborted =
    "evenwall: the program is out of memory, or it has a fault. It gives no answer. Close other programs. If that does not help, report "
    "it.\n";

/// Set before there is a second thread.
void (*end_others)() = nullptr;

constexpr int kEndings[] = {SIGINT, SIGTERM, SIGHUP};

/// Removes unfinished files; the exit status states that there is no answer.
[[noreturn]] void leave_aborted() {
  storage::remove_unfinished();
  static_cast<void>(write(STDERR_FILENO, kAborted, std::strlen(kAborted)) == 0);
  _exit(kNoAnswer);
}

[[noreturn]] void leave_signalled(int signal) {
  if (end_others != nullptr) end_others();
  storage::remove_unfinished();
  _exit(kSignalled + signal);
}

/// Whether the parent made this process ignore the signal (nohup, a job in the background): such a signal stays ignored.
bool is_ignored(int signal) {
  struct sigaction action {};
  return sigaction(signal, nullptr, &action) == 0 && action.sa_handler == SIG_IGN;
}

/// Runs before any initialiser of this program allocates, because memory may be short already and a signal may arrive.
[[gnu::constructor(101)]] void watch_from_the_beginning() {
  std::set_terminate(leave_aborted);
  std::signal(SIGABRT, [](int) { leave_aborted(); });  // FFTW aborts if it gets no memory
  for (const int signal : kEndings) {
    if (!is_ignored(signal)) std::signal(signal, leave_signalled);
  }
}

void wait_and_leave(sigset_t awaited) {
  int signal = 0;
  if (sigwait(&awaited, &signal) == 0) leave_signalled(signal);
}

}  // namespace

void end_with_this_process(void (*others)()) { end_others = others; }

void fill_closed_descriptors() {
  for (int descriptor = STDIN_FILENO; descriptor <= STDERR_FILENO; ++descriptor) {
    // Writing to a closed standard output must fail, because the answer would be lost. Messages may be lost.
    const int mode = descriptor == STDOUT_FILENO ? O_RDONLY : O_RDWR;
    if (fcntl(descriptor, F_GETFD) == -1 && open("/dev/null", mode) == -1) _exit(1);
  }
}

void report_failed_writes() {
  std::signal(SIGPIPE, SIG_IGN);
  std::signal(SIGXFSZ, SIG_IGN);
}

void watch_for_interruption() {
  sigset_t awaited;
  sigemptyset(&awaited);
  for (const int signal : kEndings) {
    if (!is_ignored(signal)) sigaddset(&awaited, signal);
  }
  pthread_sigmask(SIG_BLOCK, &awaited, nullptr);
  try {
    std::thread(wait_and_leave, awaited).detach();
  } catch (const std::system_error&) {  // the system grants no thread: the handlers remain in use
    pthread_sigmask(SIG_UNBLOCK, &awaited, nullptr);
  }
}

}  // namespace evenwall::internal::sandbox
