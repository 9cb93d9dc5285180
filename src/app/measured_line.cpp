// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/measured_line.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <vector>

#include "base/text.hpp"
#include "evenwall/words.hpp"

namespace evenwall::internal::app {
namespace {

std::string band_text(const Passage& passage) {
  if (passage.driven != Driven::kBoth || !passage.relation) return enum_name(passage.driven);
  return *passage.relation == Relation::kInPhase ? "both in phase" : "both antiphase";
}

double level_dbfs(const Passage& passage) {
  if (passage.driven == Driven::kLeft) return passage.level_left_dbfs;
  if (passage.driven == Driven::kRight) return passage.level_right_dbfs;
  return std::max(passage.level_left_dbfs, passage.level_right_dbfs);
}

/// The texts in the order in which they occur first, as a list of a sentence: "left, right and both".
std::string listed_once(const std::vector<std::string>& texts) {
  std::vector<std::string> once;
  for (const std::string& text : texts) {
    if (std::find(once.begin(), once.end(), text) == once.end()) once.push_back(text);
  }
  std::string list;
  for (std::size_t i = 0; i < once.size(); ++i) list += (i == 0 ? "" : i + 1 < once.size() ? ", " : " and ") + once[i];
  return list;
}

std::string name_of(const LogEntry& entry) {
  std::string name = base::escaped(entry.capture);
  if (entry.from_s) name += fmt::format(" from {:g} s", *entry.from_s);
  if (entry.to_s) name += fmt::format(" to {:g} s", *entry.to_s);
  return name;
}

}  // namespace

std::string measured_line(const LogEntry& entry, const Measured& result) {
  if (const auto* error = std::get_if<ReadingError>(&result)) return error->message;
  const auto& measurement = std::get<Measurement>(result);
  std::vector<std::string> bands, warnings;
  double highest_dbfs = -std::numeric_limits<double>::infinity();
  for (const Passage& passage : measurement.passages) {
    bands.push_back(band_text(passage));
    highest_dbfs = std::max(highest_dbfs, level_dbfs(passage));
  }
  for (const Warning& warning : measurement.warnings) warnings.push_back(enum_name(warning.code));
  return fmt::format("{}: {} at {:.0f} Hz; highest level {:.1f} dBFS; {}", name_of(entry), listed_once(bands),
                     measurement.crosstalk.frequency_hz, highest_dbfs,
                     warnings.empty() ? "no warnings" : "warnings: " + listed_once(warnings));
}

}  // namespace evenwall::internal::app
