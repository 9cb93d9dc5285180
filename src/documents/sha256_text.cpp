// SPDX-License-Identifier: GPL-3.0-or-later
#include "documents/sha256_text.hpp"

#include <algorithm>
#include <string_view>

namespace evenwall::internal::documents {
namespace {

constexpr std::size_t kDigits = 64;
constexpr std::string_view kBetween = " + ";  // as between the names of two recordings that were joined

bool is_sha256(std::string_view text) {
  const auto is_digit = [](char c) { return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f'); };
  return text.size() == kDigits && std::all_of(text.begin(), text.end(), is_digit);
}

}  // namespace

void require_sha256(const std::string& text, std::size_t most, const Place& place) {
  std::string_view rest = text;
  for (std::size_t i = 0; i < most; ++i) {
    if (!is_sha256(rest.substr(0, kDigits))) break;
    rest.remove_prefix(kDigits);
    if (rest.empty()) return;
    if (!rest.starts_with(kBetween)) break;
    rest.remove_prefix(kBetween.size());
  }
  place.refuse("is not a SHA-256 of 64 hexadecimal digits in lower case. Measure the recording again.");
}

}  // namespace evenwall::internal::documents
