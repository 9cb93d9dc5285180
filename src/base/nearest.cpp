// SPDX-License-Identifier: GPL-3.0-or-later
// Optimal string alignment: d(i, j) is the distance of the first i bytes of one text from the first j bytes of the other one,
//
//   d(i, j) = min( d(i-1, j) + 1,  d(i, j-1) + 1,  d(i-1, j-1) + [a_i != b_j],
//                  d(i-2, j-2) + 1  if a_i = b_(j-1) and a_(i-1) = b_j ).
//
// Source: from memory. Cost: the product of both lengths; three rows are held.
#include "base/nearest.hpp"

#include <algorithm>
#include <cstdlib>

namespace evenwall::internal::base {
namespace {

constexpr std::size_t kBytesPerChange = 3;  // one change in three bytes still suggests a typing error (a judgement)

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

}  // namespace

std::size_t edit_distance(std::string_view a, std::string_view b, std::size_t limit) {
  const std::size_t longer = std::max(a.size(), b.size()), shorter = std::min(a.size(), b.size());
  if (longer - shorter > limit) return limit + 1;
  std::vector<std::size_t> before(b.size() + 1), last(b.size() + 1), now(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) last[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    now[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const char x = lower(a[i - 1]), y = lower(b[j - 1]);
      now[j] = std::min({last[j] + 1, now[j - 1] + 1, last[j - 1] + (x == y ? 0U : 1U)});
      const bool exchanged = i > 1 && j > 1 && x == lower(b[j - 2]) && lower(a[i - 2]) == y;
      if (exchanged) now[j] = std::min(now[j], before[j - 2] + 1);
    }
    before.swap(last);
    last.swap(now);
  }
  return std::min(last[b.size()], limit + 1);
}

std::optional<std::string> nearest_name(std::string_view wanted, const std::vector<std::string>& names) {
  const std::size_t limit = std::max<std::size_t>(1, wanted.size() / kBytesPerChange);
  std::size_t least = limit + 1;
  std::optional<std::string> nearest;
  for (const std::string& name : names) {
    if (name == wanted || least == 0) continue;
    const std::size_t changes = edit_distance(wanted, name, least - 1);
    if (changes >= least) continue;
    least = changes;
    nearest = name;
  }
  return nearest;
}

}  // namespace evenwall::internal::base
