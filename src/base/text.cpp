// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/text.hpp"

#include <fmt/format.h>

#include <cstdint>

namespace evenwall::internal::base {
namespace {

/// Length of the well-formed UTF-8 sequence at the start of `text` and its code point; length 0 if there is none.
struct Decoded {
  std::size_t length;
  std::uint32_t code_point;
};

Decoded decode(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<std::uint32_t>(static_cast<unsigned char>(text[i])); };
  const std::uint32_t lead = byte(0);
  if (lead < 0x80) return {1, lead};
  const std::size_t length = lead >= 0xF0 && lead < 0xF8 ? 4 : lead >= 0xE0 && lead < 0xF0 ? 3 : lead >= 0xC2 && lead < 0xE0 ? 2 : 0;
  if (length == 0 || text.size() < length) return {0, 0};
  std::uint32_t code_point = lead & (0xFFU >> (length + 1));
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xC0U) != 0x80U) return {0, 0};
    code_point = (code_point << 6U) | (byte(i) & 0x3FU);
  }
  constexpr std::uint32_t kLeast[] = {0, 0, 0x80, 0x800, 0x10000};
  const bool surrogate = code_point >= 0xD800 && code_point <= 0xDFFF;
  if (code_point < kLeast[length] || code_point > 0x10FFFF || surrogate) return {0, 0};
  return {length, code_point};
}

bool acts_on_a_terminal(std::uint32_t c) {
  return c < 0x20 || (c >= 0x7F && c < 0xA0) || c == 0x061C || (c >= 0x200B && c <= 0x200F) || (c >= 0x2028 && c <= 0x202E) ||
         (c >= 0x2060 && c <= 0x206F) || c == 0xFEFF;
}

}  // namespace

std::string escaped(std::string_view text) {
  std::string out;
  while (!text.empty()) {
    const auto [length, code_point] = decode(text);
    if (length == 0) {
      out += fmt::format("\\x{:02X}", static_cast<unsigned char>(text[0]));
      text.remove_prefix(1);
      continue;
    }
    if (!acts_on_a_terminal(code_point)) {
      out += text.substr(0, length);
    } else if (code_point < 0x80) {
      out += fmt::format("\\x{:02X}", code_point);
    } else {
      out += fmt::format("\\u{{{:04X}}}", code_point);
    }
    text.remove_prefix(length);
  }
  return out;
}

}  // namespace evenwall::internal::base
