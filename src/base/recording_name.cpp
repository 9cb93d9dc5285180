// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/recording_name.hpp"

#include <fmt/format.h>

#include "base/text.hpp"

namespace evenwall::internal::base {

std::string recording_name(const std::string& capture, const std::optional<double>& from_s, const std::optional<double>& to_s) {
  const std::string name = escaped(capture);
  return from_s || to_s ? fmt::format("{} at {:g} s", name, from_s.value_or(0)) : name;
}

}  // namespace evenwall::internal::base
