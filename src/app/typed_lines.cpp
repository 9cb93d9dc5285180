// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/typed_lines.hpp"

#include <poll.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <string_view>

namespace evenwall::internal::app {
namespace {

constexpr std::size_t kBlock = 4096;       // bytes; a terminal's longest line
constexpr std::size_t kLongest = 1 << 16;  // bytes; a longer line is not an answer

}  // namespace

void TypedLines::discard() {
  typed_.clear();
  std::array<char, kBlock> block{};
  pollfd asked{descriptor_, POLLIN, 0};
  while (::poll(&asked, 1, 0) > 0) {
    const ssize_t n = ::read(descriptor_, block.data(), block.size());
    if (n < 0 && errno == EINTR) continue;
    if (n <= 0) {
      ended_ = true;
      return;
    }
  }
}

std::optional<std::string> TypedLines::read() {
  if (auto line = take_line()) return line;
  pollfd asked{descriptor_, POLLIN, 0};
  if (::poll(&asked, 1, 0) <= 0) return std::nullopt;
  std::array<char, kBlock> block{};
  const ssize_t n = ::read(descriptor_, block.data(), block.size());
  if (n < 0 && (errno == EINTR || errno == EAGAIN)) return std::nullopt;
  if (n <= 0) {
    ended_ = true;
    return std::nullopt;
  }
  typed_.append(block.data(), static_cast<std::size_t>(n));
  if (typed_.size() > kLongest) typed_.clear();
  return take_line();
}

std::optional<std::string> TypedLines::take_line() {
  const std::size_t end = typed_.find('\n');
  if (end == std::string::npos) return std::nullopt;
  std::string line = typed_.substr(0, end);
  typed_.erase(0, end + 1);
  return line;
}

}  // namespace evenwall::internal::app
