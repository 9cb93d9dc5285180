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

constexpr std::chrono::seconds kLongest{20};        // a chart takes some 0.1 s
constexpr std::size_t kMostSvg_bytes = 16U << 20U;  // a chart takes some 30 KiB
constexpr const char* kFallbackPath = "PATH=/usr/bin:/bin";

constexpr int kBetweenLooks_ms = 1;

using Clock = std::chrono::steady_clock;

std::atomic<pid_t> running = 0;  // leads a process group of its own
std::atomic<bool> ran_too_long = false;

/// Both ends of a two-way pipe. A socket, since writing to one whose reader has died need not raise SIGPIPE.
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

/// The child's process id, or nothing.
std::optional<pid_t> start_gnuplot(int both_streams) {
  posix_spawn_file_actions_t files;
  if (::posix_spawn_file_actions_init(&files) != 0) return std::nullopt;
  ::posix_spawn_file_actions_adddup2(&files, both_streams, STDIN_FILENO);
  ::posix_spawn_file_actions_adddup2(&files, both_streams, STDOUT_FILENO);
  ::posix_spawn_file_actions_addopen(&files, STDERR_FILENO, "/dev/null", 1 /* O_WRONLY */, 0);
  posix_spawnattr_t attributes;
  ::posix_spawnattr_init(&attributes);
  // The program waits for its signals by sigwait, with them blocked: the child must not inherit that.
  sigset_t none;
  ::sigemptyset(&none);
  ::posix_spawnattr_setsigmask(&attributes, &none);
  // Its own process group, so that what it has started in turn is ended with it.
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

/// Writes what the socket takes; ends the way in when all is written. False where the reader is gone.
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

/// All that the other side answers to `script`, or nothing.
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

/// Waits for the end, at most until `end`, and then enforces it. An answer that is complete does not prove that the program ends.
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

std::optional<std::string> drawn_by_gnuplot(const PlotScript& script) {
  if (ran_too_long) return std::nullopt;
  Pair pair;
  if (!pair.good()) return std::nullopt;
  const auto child = start_gnuplot(pair.theirs());
  if (!child) return std::nullopt;
  running = *child;
  pair.close_theirs();
  const Clock::time_point end = Clock::now() + kLongest;
  auto drawn = conversation(pair.ours(), script.text(), end);
  if (!drawn) end_gnuplot();
  const bool good = ended_well(*child, end);
  running = 0;
  return good ? drawn : std::nullopt;
}

void end_gnuplot() {
  const pid_t group = running;
  if (group > 0) ::kill(-group, SIGKILL);
}

}  // namespace evenwall::internal::report
