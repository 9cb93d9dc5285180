// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/progress.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace evenwall::internal::app {
namespace {

constexpr std::size_t kBarColumns = 24;
constexpr double kSilent_s = 1;  // the times of the first parts are a poor estimate
constexpr std::chrono::milliseconds kLeastBetween{100};

}  // namespace

std::string duration_text(double seconds) {
  const double whole = std::max(1.0, std::round(seconds));
  if (whole < 10) return fmt::format("{:.0f} s", whole);
  if (whole < 100) return fmt::format("{:.0f} s", 5 * std::round(whole / 5));
  const double minutes = std::round(whole / 60);
  if (minutes < 60) return fmt::format("{:.0f} min", minutes);
  return fmt::format("{:.0f} h {:.0f} min", std::floor(minutes / 60), minutes - 60 * std::floor(minutes / 60));
}

std::string progress_text(const std::string& what, std::size_t done, std::size_t all, double elapsed_s) {
  const std::size_t filled = all == 0 ? kBarColumns : kBarColumns * std::min(done, all) / all;
  std::string text = fmt::format("[{}{}] {} of {} {}", std::string(filled, '#'), std::string(kBarColumns - filled, '-'), done, all, what);
  if (done > 0 && done < all && elapsed_s >= kSilent_s) {
    const double left_s = elapsed_s / static_cast<double>(done) * static_cast<double>(all - done);
    text += fmt::format(", {} left", duration_text(left_s));
  }
  return text;
}

void Progress::tell(std::size_t done, std::size_t all) {
  const Clock::time_point now = Clock::now();
  if (done == all) return;  // the next output follows at once
  if (now - shown_ < kLeastBetween) return;
  shown_ = now;
  console_.progress(progress_text(what_, done, all, std::chrono::duration<double>(now - start_).count()));
}

}  // namespace evenwall::internal::app
