// SPDX-License-Identifier: GPL-3.0-or-later
#include "survey/archive.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <map>
#include <numeric>
#include <tuple>

#include "survey/method_constants.hpp"

namespace evenwall::internal::survey {
namespace {

auto identity_of(const ArchivedSolution& s) {
  return std::tie(s.cartridge, s.record, s.record_side, s.date, s.least_crosstalk_deg, s.u_least_crosstalk_deg, s.equal_crosstalk_deg);
}

auto order_of(const ArchivedSolution& s) { return std::tuple_cat(identity_of(s), std::tie(s.group, s.name)); }

/// Whether a solution equal to this one is certainly a copy: both have a date, or more digits than can agree by chance.
bool is_certain(const ArchivedSolution& s) {
  const double steps = s.least_crosstalk_deg / kChanceAgreement_deg;
  return s.date.has_value() || std::abs(steps - std::round(steps)) > 1e-6;
}

void warn(Warnings& warnings, WarningCode code, const std::string& what, const std::vector<std::string>& names) {
  if (!names.empty()) warnings.push_back({code, fmt::format("{}: {}", listed(names), what)});
}

std::vector<ArchivedSolution> without_copies(std::vector<ArchivedSolution> sorted, Warnings& warnings) {
  std::vector<ArchivedSolution> kept;
  std::vector<std::string> copies, doubtful;
  for (ArchivedSolution& s : sorted) {
    const bool again = !kept.empty() && identity_of(kept.back()) == identity_of(s);
    if (again && is_certain(s)) {
      copies.push_back(fmt::format("{} (as {})", s.name, kept.back().name));
      continue;
    }
    if (again) doubtful.push_back(fmt::format("{} (as {})", s.name, kept.back().name));
    kept.push_back(std::move(s));
  }
  warn(warnings, WarningCode::kDuplicateSolution, "the same solution appears again. It is counted once. Remove the copy.", copies);
  warn(warnings, WarningCode::kDuplicateSolution,
       "the solutions are equal, perhaps by chance, because they have no date and few digits. Each is counted. Remove the copies, if any.",
       doubtful);
  return kept;
}

std::vector<ArchivedSolution> with_names(std::vector<ArchivedSolution> all, Warnings& warnings) {
  const bool any_record = std::any_of(all.begin(), all.end(), [](const ArchivedSolution& s) { return s.record.has_value(); });
  std::vector<std::string> no_cartridge, no_record;
  std::vector<ArchivedSolution> kept;
  for (ArchivedSolution& s : all) {
    if (!s.cartridge) {
      no_cartridge.push_back(s.name);
    } else if (any_record && !s.record) {
      no_record.push_back(s.name);
    } else {
      kept.push_back(std::move(s));
    }
  }
  warn(warnings, WarningCode::kIncompleteSolution,
       "session.cartridge is missing. No such solution is used. State the cartridge in session.json, and solve again.", no_cartridge);
  warn(warnings, WarningCode::kIncompleteSolution,
       "session.record is missing, but other solutions have it. No such solution is used. State the record in session.json, and solve "
       "again.",
       no_record);
  return kept;
}

Archive numbered(std::vector<ArchivedSolution> solutions) {
  Archive archive;
  std::map<std::string, int> cartridges;
  std::map<RecordName, int> records;
  const auto record_of = [](const ArchivedSolution& s) { return RecordName{s.record.value_or(""), s.record_side}; };
  for (const ArchivedSolution& s : solutions) cartridges[*s.cartridge], records[record_of(s)];
  for (auto& [name, number] : cartridges) number = static_cast<int>(archive.cartridges.size()), archive.cartridges.push_back(name);
  for (auto& [name, number] : records) number = static_cast<int>(archive.records.size()), archive.records.push_back(name);
  for (const ArchivedSolution& s : solutions) {
    archive.cartridge.push_back(cartridges[*s.cartridge]);
    archive.record.push_back(records[record_of(s)]);
  }
  archive.solutions = std::move(solutions);
  return archive;
}

}  // namespace

std::string RecordName::shown() const {
  const std::string name = record.empty() ? "(not named)" : record;
  return side ? name + ", side " + *side : name;
}

std::string listed(const std::vector<std::string>& names) {
  std::string list;
  for (std::size_t i = 0; i < std::min(names.size(), kMostNamed); ++i) list += (i > 0 ? ", " : "") + names[i];
  return names.size() > kMostNamed ? fmt::format("{} and {} more", list, names.size() - kMostNamed) : list;
}

Archive archived(std::vector<ArchivedSolution> solutions) {
  Warnings warnings;
  std::sort(solutions.begin(), solutions.end(),
            [](const ArchivedSolution& a, const ArchivedSolution& b) { return order_of(a) < order_of(b); });
  Archive archive = numbered(without_copies(with_names(std::move(solutions), warnings), warnings));
  archive.warnings = std::move(warnings);
  return archive;
}

Archive kept_of(const Archive& archive, const std::vector<bool>& keep) {
  assert(keep.size() == archive.solutions.size());
  std::vector<ArchivedSolution> kept;
  for (std::size_t k = 0; k < keep.size(); ++k) {
    if (keep[k]) kept.push_back(archive.solutions[k]);
  }
  return numbered(std::move(kept));
}

std::vector<int> parts_of(const Archive& archive) {
  std::vector<int> root(archive.records.size());
  std::iota(root.begin(), root.end(), 0);
  const auto find = [&](int r) {
    while (root[static_cast<std::size_t>(r)] != r)
      r = root[static_cast<std::size_t>(r)] = root[static_cast<std::size_t>(root[static_cast<std::size_t>(r)])];
    return r;
  };
  std::vector<int> first(archive.cartridges.size(), -1);
  for (std::size_t k = 0; k < archive.record.size(); ++k) {
    int& seen = first[static_cast<std::size_t>(archive.cartridge[k])];
    if (seen < 0) seen = archive.record[k];
    root[static_cast<std::size_t>(find(archive.record[k]))] = find(seen);
  }
  std::map<int, int> part_of_root;
  std::vector<int> parts;
  for (std::size_t j = 0; j < root.size(); ++j) {
    const auto [at, fresh] = part_of_root.try_emplace(find(static_cast<int>(j)), static_cast<int>(part_of_root.size()) + 1);
    parts.push_back(at->second);
  }
  return parts;
}

}  // namespace evenwall::internal::survey
