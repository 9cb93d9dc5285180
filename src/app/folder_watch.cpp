// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/folder_watch.hpp"

#include <poll.h>

#include <algorithm>
#include <array>

namespace evenwall::internal::app {
namespace {

using std::chrono::milliseconds;

constexpr milliseconds kQuiet{50};          // no notice for so long ends a collection
constexpr milliseconds kLongestBurst{500};  // a collection ends then, also if notices still come
constexpr short kReaderGone = POLLERR | POLLHUP | POLLNVAL;

bool has_notices(int descriptor, milliseconds longest) {
  pollfd asked{descriptor, POLLIN, 0};
  return ::poll(&asked, 1, static_cast<int>(longest.count())) > 0;
}

}  // namespace

/// Takes the notices until there are no more for a moment. A program that saves a file writes, closes, renames and removes in a row.
void FolderWatch::collect() {
  const Clock::time_point start = Clock::now();
  do {
    looks_.gather();
  } while (looks_.descriptor() >= 0 && Clock::now() - start < kLongestBurst && has_notices(looks_.descriptor(), kQuiet));
}

storage::FolderChanges FolderWatch::look() {
  storage::FolderChanges changes = looks_.look(Clock::now());
  due_ = Clock::now() + looks_.pause();
  return changes;
}

Waited FolderWatch::wait(int input) {
  for (;;) {
    std::array<pollfd, 3> watched{{{looks_.descriptor(), POLLIN, 0}, {input, POLLIN, 0}, {output_, 0, 0}}};  // poll ignores -1
    const auto left = std::chrono::ceil<milliseconds>(due_ - Clock::now());
    const bool ready = ::poll(watched.data(), watched.size(), static_cast<int>(std::max(left, milliseconds(0)).count())) > 0;
    Waited waited;
    const bool noticed = ready && watched[0].revents != 0;
    waited.input = ready && watched[1].revents != 0;
    waited.reader_gone = ready && (watched[2].revents & kReaderGone) != 0;
    if (noticed) collect();
    if (noticed || Clock::now() >= due_) waited.changes = look();
    if (waited.changes.any() || waited.input || waited.reader_gone) return waited;
  }
}

}  // namespace evenwall::internal::app
