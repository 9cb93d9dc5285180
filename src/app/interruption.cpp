#include "app/interruption.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <charconv>
#include <climits>
#include <csignal>
#include <cstring>
#include <exception>
#include <iterator>
#include <system_error>
#include <thread>

namespace evenwall::app {
namespace {

constexpr int kSignalled = 128;  // the shell's convention: 128 + signal
constexpr int kNoAnswer = 1;

constexpr int kMostDescriptors = 1024;  // tried: an output is among the first few
constexpr const char* kAborted =
    "evenwall: out of memory, or a fault of this program; close other programs, and report it where that does not help\n";

/// Documents are written to ".NAME.tmp-XXXXXX" first: one that is still open is unfinished.
bool is_temporary(const char* path) {
  const char* slash = std::strrchr(path, '/');
  return slash != nullptr && slash[1] == '.' && std::strstr(slash, ".tmp-") != nullptr;
}

/// Allocates nothing and locks nothing: it also runs where memory is gone, or in a signal handler.
void remove_open_temporaries() {
  for (int descriptor = STDERR_FILENO + 1; descriptor < kMostDescriptors; ++descriptor) {
    char link[32] = "/proc/self/fd/";
    *std::to_chars(link + std::strlen(link), std::end(link) - 1, descriptor).ptr = '\0';
    char target[PATH_MAX + 1];
    const ssize_t size = readlink(link, target, PATH_MAX);
    if (size <= 0) continue;
    target[size] = '\0';
    // What is open for reading is somebody's capture, whatever its name.
    if (is_temporary(target) && (fcntl(descriptor, F_GETFL) & O_ACCMODE) != O_RDONLY) unlink(target);
  }
}

/// An unfinished output goes, and the exit status says that there is no answer.
[[noreturn]] void leave_aborted() {
  remove_open_temporaries();
  static_cast<void>(write(STDERR_FILENO, kAborted, std::strlen(kAborted)) == 0);
  _exit(kNoAnswer);
}

/// Before any initialiser of a library allocates: memory may be short already.
[[gnu::constructor(101)]] void watch_for_abort() {
  std::set_terminate(leave_aborted);
  std::signal(SIGABRT, [](int) { leave_aborted(); });  // FFTW aborts where it gets no memory
}

void wait_and_leave(sigset_t awaited) {
  int signal = 0;
  if (sigwait(&awaited, &signal) != 0) return;
  remove_open_temporaries();
  _exit(kSignalled + signal);
}

/// Where the system grants no thread that waits.
void leave_from_handler(const sigset_t& awaited) {
  for (const int signal : {SIGINT, SIGTERM}) {
    if (sigismember(&awaited, signal) == 0) continue;
    std::signal(signal, [](int number) {
      remove_open_temporaries();
      _exit(kSignalled + number);
    });
  }
  pthread_sigmask(SIG_UNBLOCK, &awaited, nullptr);
}

/// A signal that the parent had us ignore (nohup, a job in the background) stays ignored.
bool is_ignored(int signal) {
  struct sigaction action {};
  return sigaction(signal, nullptr, &action) == 0 && action.sa_handler == SIG_IGN;
}

}  // namespace

void fill_closed_descriptors() {
  for (int descriptor = STDIN_FILENO; descriptor <= STDERR_FILENO; ++descriptor) {
    // An answer that nobody gets is none: what is written to a closed standard output fails. Messages may be lost.
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
  for (const int signal : {SIGINT, SIGTERM}) {
    if (!is_ignored(signal)) sigaddset(&awaited, signal);
  }
  pthread_sigmask(SIG_BLOCK, &awaited, nullptr);
  try {
    std::thread(wait_and_leave, awaited).detach();
  } catch (const std::system_error&) {
    leave_from_handler(awaited);
  }
}

}  // namespace evenwall::app
