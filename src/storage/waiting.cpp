// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/waiting.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <filesystem>
#include <system_error>
#include <thread>

#include "storage/descriptor.hpp"

namespace evenwall::internal::storage {
namespace {

using std::chrono::milliseconds;
using Clock = std::chrono::steady_clock;

constexpr milliseconds kFirstPause{1};
constexpr milliseconds kLongestPause{20};  // the most by which a wait exceeds the time needed

WaitPolicy& policy() {
  static WaitPolicy policy;
  return policy;
}

double seconds(milliseconds time) { return std::chrono::duration<double>(time).count(); }

void give_notice(const Awaited& awaited) {
  if (!policy().notice) return;
  policy().notice(fmt::format("{}: {}. The program waits for up to {:g} s. Press Ctrl-C to end it.", awaited.name, awaited.found,
                              seconds(policy().limit)));
}

[[noreturn]] void give_up(const Awaited& awaited) {
  refuse(awaited.name, fmt::format("{}. The program gave up after {:g} s. {}{}.", awaited.found, seconds(policy().limit), awaited.remedy,
                                   policy().longer));
}

/// Whether the FIFO has a name. A pipe of a shell (`<(…)`, /dev/stdin) has no name: its writer was there from the start, or has ended.
bool has_name(int fifo) {
  std::error_code unknown;
  const std::filesystem::path link = std::filesystem::read_symlink("/proc/self/fd/" + std::to_string(fifo), unknown);
  return !link.native().starts_with("pipe:[");
}

/// Determines whether a FIFO has a writer, without removing a byte from it. tee(2) finds nothing to copy (EAGAIN) if a writer has sent
/// nothing yet, and an end (0) if there is no writer. If the system refuses tee, only bytes that have arrived show the writer.
class WriterProbe {
 public:
  explicit WriterProbe(int fifo) : fifo_(fifo) {
    std::array<int, 2> ends{};
    if (::pipe2(ends.data(), O_CLOEXEC | O_NONBLOCK) != 0) return;
    scratch_out_ = Descriptor(ends[0]);
    scratch_in_ = Descriptor(ends[1]);
  }
  [[nodiscard]] bool is_there() const {
    pollfd asked{fifo_, POLLIN, 0};
    if (::poll(&asked, 1, 0) > 0) return true;
    if (scratch_in_.get() < 0) return false;
    const ssize_t copied = ::tee(fifo_, scratch_in_.get(), 1, SPLICE_F_NONBLOCK);
    return copied > 0 || (copied < 0 && errno == EAGAIN);
  }

 private:
  int fifo_;
  Descriptor scratch_out_, scratch_in_;
};

}  // namespace

void set_wait_policy(WaitPolicy wanted) { policy() = std::move(wanted); }

void wait_for(const Awaited& awaited, const std::function<bool()>& is_there) {
  const Clock::time_point start = Clock::now();
  bool noticed = false;
  for (milliseconds pause = kFirstPause; !is_there(); pause = std::min(2 * pause, kLongestPause)) {
    const auto waited = Clock::now() - start;
    if (waited >= policy().limit) give_up(awaited);
    if (!noticed && waited >= policy().notice_after) give_notice(awaited);
    noticed = waited >= policy().notice_after;
    std::this_thread::sleep_for(pause);
  }
}

void wait_for_writer(int fifo, const std::string& name) {
  if (!has_name(fifo)) return;
  const WriterProbe probe(fifo);
  wait_for({name, "no program writes to this pipe", "Start the program that writes to it"}, [&] { return probe.is_there(); });
}

}  // namespace evenwall::internal::storage
