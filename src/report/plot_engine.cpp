// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/plot_engine.hpp"

#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <atomic>
#include <cerrno>
#include <chrono>
#include <cstdlib>
#include <string_view>

namespace evenwall::internal::report {
namespace {

constexpr std::chrono::seconds kLongest{20};        // a chart takes about 0.1 s
constexpr std::size_t kMostSvg_bytes = 16U << 20U;  // a chart takes about 30 KiB
constexpr const char* kFallbackPath = "PATH=/usr/bin:/bin";

constexpr int kBetweenLooks_ms = 1;

using Clock = std::chrono::steady_clock;

std::atomic<pid_t> running = 0;  // process id of gnuplot, which leads its own process group
std::atomic<bool> ran_too_long = false;
std::atomic<bool> starting = false;  // gnuplot may run already, and `running` does not hold its process id yet
std::atomic<bool> no_more = false;   // this process is about to end
constexpr int kMostWaits_ms = 1000;  // a start or an end takes some milliseconds

void wait_while(const std::atomic<bool>& flag) {
  for (int waited_ms = 0; flag && waited_ms < kMostWaits_ms; ++waited_ms) ::poll(nullptr, 0, 1);
}

/// Ends a running gnuplot and the processes that it has started.
void end_gnuplot() {
  const pid_t group = running;
  if (group > 0) ::kill(-group, SIGKILL);
}

/// Both ends of a two-way pipe. It is a socket, because writing to a socket need not raise SIGPIPE if the reader has died.
class Pair {
 public:
  Pair() : good_(::socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, ends_.data()) == 0) {}
  ~Pair() {
    if (good_) ::close(ends_[0]);
    close_theirs();
  }
  Pair(const Pair&) = delete;
  Pair& operator=(const Pair&) = delete;
  [[nodiscard]] bool good() const { return good_; }
  [[nodiscard]] int ours() const { return ends_[0]; }
  [[nodiscard]] int theirs() const { return ends_[1]; }
  void close_theirs() {
    if (good_ && ends_[1] >= 0) ::close(ends_[1]);
    ends_[1] = -1;
  }

 private:
  std::array<int, 2> ends_{-1, -1};
  bool good_;
};

/// Starts gnuplot. Returns its process id, or nothing if the start failed.
std::optional<pid_t> start_gnuplot(int both_streams) {
  posix_spawn_file_actions_t files;
  if (::posix_spawn_file_actions_init(&files) != 0) return std::nullopt;
  ::posix_spawn_file_actions_adddup2(&files, both_streams, STDIN_FILENO);
  ::posix_spawn_file_actions_adddup2(&files, both_streams, STDOUT_FILENO);
  ::posix_spawn_file_actions_addopen(&files, STDERR_FILENO, "/dev/null", 1 /* O_WRONLY */, 0);
  posix_spawnattr_t attributes;
  ::posix_spawnattr_init(&attributes);
  // This program blocks its signals and waits for them with sigwait(); the child must not inherit the blocked signals.
  sigset_t none;
  ::sigemptyset(&none);
  ::posix_spawnattr_setsigmask(&attributes, &none);
  // The child gets its own process group, so that the processes it starts are ended with it.
  ::posix_spawnattr_setpgroup(&attributes, 0);
  ::posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETPGROUP);
  std::string program = "gnuplot";
  std::string no_start_up_file = "--default-settings";
  const char* found = std::getenv("PATH");
  std::string path = found != nullptr ? std::string("PATH=") + found : kFallbackPath;
  std::string locale = "LC_ALL=C.UTF-8";
  std::array<char*, 3> arguments{program.data(), no_start_up_file.data(), nullptr};
  std::array<char*, 3> environment{path.data(), locale.data(), nullptr};
  pid_t child = 0;
  const int fault = ::posix_spawnp(&child, "gnuplot", &files, &attributes, arguments.data(), environment.data());
  ::posix_spawnattr_destroy(&attributes);
  ::posix_spawn_file_actions_destroy(&files);
  return fault == 0 ? std::optional(child) : std::nullopt;
}

/// Writes as much as the socket accepts and closes the writing direction when all is written. Returns false if it fails, as when the reader
/// is gone.
bool send_some(int socket, std::string_view& left) {
  const ssize_t sent = ::send(socket, left.data(), left.size(), MSG_NOSIGNAL | MSG_DONTWAIT);
  if (sent < 0) return errno == EAGAIN || errno == EINTR;
  left.remove_prefix(static_cast<std::size_t>(sent));
  if (left.empty()) ::shutdown(socket, SHUT_WR);
  return true;
}

enum class Received { kSome, kAll, kFault };

Received receive_some(int socket, std::string& taken) {
  std::array<char, 65536> block{};
  const ssize_t got = ::recv(socket, block.data(), block.size(), MSG_DONTWAIT);
  if (got < 0) return errno == EAGAIN || errno == EINTR ? Received::kSome : Received::kFault;
  taken.append(block.data(), static_cast<std::size_t>(got));
  if (taken.size() > kMostSvg_bytes) return Received::kFault;
  return got == 0 ? Received::kAll : Received::kSome;
}

/// Sends `script` and returns the complete answer, or nothing on a fault or after `end`.
std::optional<std::string> conversation(int socket, std::string_view script, Clock::time_point end) {
  std::string taken;
  while (true) {
    const auto left_ms = std::chrono::duration_cast<std::chrono::milliseconds>(end - Clock::now()).count();
    pollfd watched{socket, static_cast<short>(script.empty() ? POLLIN : POLLIN | POLLOUT), 0};
    if (left_ms <= 0) {
      ran_too_long = true;
      return std::nullopt;
    }
    if (::poll(&watched, 1, static_cast<int>(left_ms)) < 0 && errno != EINTR) return std::nullopt;
    if (!script.empty() && (watched.revents & POLLOUT) != 0 && !send_some(socket, script)) return std::nullopt;
    if ((watched.revents & (POLLIN | POLLHUP | POLLERR)) == 0) continue;
    const Received received = receive_some(socket, taken);
    if (received == Received::kFault) return std::nullopt;
    if (received == Received::kAll) return taken;
  }
}

/// Waits until the child ends, and kills it after `end`, because a complete answer does not prove that the program ends.
/// Returns true if it ended with status 0.
bool ended_well(pid_t child, Clock::time_point end) {
  int status = 0;
  for (pid_t ended = 0; ended == 0;) {
    ended = ::waitpid(child, &status, WNOHANG);
    if (ended < 0 && errno != EINTR) return false;
    if (ended < 0) ended = 0;
    if (ended == 0 && Clock::now() >= end) {
      ran_too_long = true;
      end_gnuplot();
    }
    if (ended == 0) ::poll(nullptr, 0, kBetweenLooks_ms);
  }
  return WIFEXITED(status) && WEXITSTATUS(status) == 0;
}

}  // namespace

// If another thread ends gnuplot because it is about to end this process, no result is returned before that: the caller would report a
// missing chart.
std::optional<std::string> drawn_by_gnuplot(const PlotScript& script) {
  if (ran_too_long) return std::nullopt;
  Pair pair;
  if (!pair.good()) return std::nullopt;
  starting = true;
  const auto child = no_more ? std::nullopt : start_gnuplot(pair.theirs());
  running = child.value_or(0);
  starting = false;
  if (!child) {
    wait_while(no_more);
    return std::nullopt;
  }
  pair.close_theirs();
  const Clock::time_point end = Clock::now() + kLongest;
  auto drawn = conversation(pair.ours(), script.text(), end);
  if (!drawn) end_gnuplot();
  const bool good = ended_well(*child, end);
  running = 0;
  if (!good) wait_while(no_more);
  return good ? drawn : std::nullopt;
}

void end_gnuplot_for_good() {
  no_more = true;
  wait_while(starting);
  end_gnuplot();
}

}  // namespace evenwall::internal::report
