// SPDX-License-Identifier: GPL-3.0-or-later
// Finds the name that a user most likely meant.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace evenwall::internal::base {

/// Number of single changes that turn one text into the other: a byte inserted, removed or replaced, or two adjacent ones exchanged. Case
/// of ASCII letters is ignored. Returns `limit` + 1 if more than `limit` changes are needed. Source: optimal string alignment (from
/// memory).
std::size_t edit_distance(std::string_view a, std::string_view b, std::size_t limit);

/// The name nearest to `wanted` that is not `wanted` itself; of equally near ones the first. Nothing if each of them differs in more than a
/// third of the characters of `wanted`: then a suggestion would be a guess. One change is always allowed.
std::optional<std::string> nearest_name(std::string_view wanted, const std::vector<std::string>& names);

}  // namespace evenwall::internal::base
