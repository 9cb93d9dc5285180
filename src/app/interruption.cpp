#include "app/interruption.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <csignal>
#include <filesystem>
#include <string>
#include <system_error>
#include <thread>

namespace evenwall::app {
namespace {

constexpr int kSignalled = 128;  // the shell's convention: 128 + signal

/// Documents are written to ".NAME.tmp-XXXXXX" first: one that is still open is unfinished.
bool is_temporary(const std::filesystem::path& path) {
  const std::string name = path.filename().string();
  return name.starts_with(".") && name.find(".tmp-") != std::string::npos;
}

void remove_open_temporaries() {
  std::error_code fault;
  for (std::filesystem::directory_iterator it("/proc/self/fd", fault), end; !fault && it != end; it.increment(fault)) {
    std::error_code gone;
    const auto target = std::filesystem::read_symlink(it->path(), gone);
    if (!gone && is_temporary(target)) std::filesystem::remove(target, gone);
  }
}

void wait_and_leave(sigset_t awaited) {
  int signal = 0;
  if (sigwait(&awaited, &signal) != 0) return;
  remove_open_temporaries();
  _exit(kSignalled + signal);
}

/// A signal that the parent had us ignore (nohup, a job in the background) stays ignored.
bool is_ignored(int signal) {
  struct sigaction action {};
  return sigaction(signal, nullptr, &action) == 0 && action.sa_handler == SIG_IGN;
}

}  // namespace

void fill_closed_descriptors() {
  for (int descriptor = STDIN_FILENO; descriptor <= STDERR_FILENO; ++descriptor) {
    if (fcntl(descriptor, F_GETFD) == -1 && open("/dev/null", O_RDWR) == -1) _exit(1);
  }
}

void watch_for_interruption() {
  std::signal(SIGPIPE, SIG_IGN);
  std::signal(SIGXFSZ, SIG_IGN);
  sigset_t awaited;
  sigemptyset(&awaited);
  for (const int signal : {SIGINT, SIGTERM}) {
    if (!is_ignored(signal)) sigaddset(&awaited, signal);
  }
  pthread_sigmask(SIG_BLOCK, &awaited, nullptr);
  std::thread(wait_and_leave, awaited).detach();
}

}  // namespace evenwall::app
