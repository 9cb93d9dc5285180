// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/folder_captures.hpp"

#include <algorithm>
#include <array>
#include <string_view>

#include "storage/folder_listing.hpp"

namespace evenwall::internal::app {
namespace {

constexpr std::array<std::string_view, 8> kAudioKinds{".wav", ".wave", ".rf64", ".w64", ".aif", ".aiff", ".aifc", ".flac"};

bool is_digit(char c) { return c >= '0' && c <= '9'; }

}  // namespace

bool is_capture_name(const std::string& name) {
  std::string kind = fs::path(name).extension().string();
  std::transform(kind.begin(), kind.end(), kind.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; });
  return !name.starts_with(".") && std::find(kAudioKinds.begin(), kAudioKinds.end(), kind) != kAudioKinds.end();
}

namespace {

/// Removes a number, which may have leading zeros, from the start of a name.
std::string_view take_number(std::string_view& name) {
  while (name.size() > 1 && name[0] == '0' && is_digit(name[1])) name.remove_prefix(1);
  std::size_t length = 0;
  while (length < name.size() && is_digit(name[length])) ++length;
  const std::string_view number = name.substr(0, length);
  name.remove_prefix(length);
  return number;
}

}  // namespace

bool named_before(const std::string& a, const std::string& b) {
  std::string_view left = a, right = b;
  while (!left.empty() && !right.empty()) {
    if (is_digit(left[0]) && is_digit(right[0])) {
      const std::string_view one = take_number(left), other = take_number(right);
      if (one.size() != other.size()) return one.size() < other.size();
      if (one != other) return one < other;
      continue;
    }
    if (left[0] != right[0]) return left[0] < right[0];
    left.remove_prefix(1);
    right.remove_prefix(1);
  }
  if (left.empty() != right.empty()) return left.empty();
  return a < b;  // names that differ in leading zeros only
}

std::vector<std::string> captures_in(const fs::path& folder) {
  std::vector<std::string> names = storage::file_names_in(folder);
  std::erase_if(names, [](const std::string& name) { return !is_capture_name(name); });
  std::sort(names.begin(), names.end(), named_before);
  return names;
}

}  // namespace evenwall::internal::app
