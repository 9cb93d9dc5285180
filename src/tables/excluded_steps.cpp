// SPDX-License-Identifier: GPL-3.0-or-later
#include "tables/excluded_steps.hpp"

#include <fmt/format.h>

#include "base/counted.hpp"

namespace evenwall::internal::tables {
namespace {

constexpr std::size_t kNamed = 20;

}  // namespace

bool ExcludedSteps::add(const std::string& message, Warnings& warnings, const char* in_front) {
  if (++excluded_ > kNamed) {
    last_ = message;
    return false;
  }
  warnings.push_back({WarningCode::kStepUnreadable, in_front + message});
  return true;
}

void ExcludedSteps::count(Warnings& warnings) const {
  if (excluded_ <= kNamed) return;
  warnings.push_back(
      {WarningCode::kStepUnreadable, fmt::format("{}: {}. Correct the steps named first. The last step is reported as: {}", source_,
                                                 base::counted(excluded_ - kNamed, "more step cannot be used. It is excluded",
                                                               "more steps cannot be used. They are excluded"),
                                                 last_)});
}

}  // namespace evenwall::internal::tables
