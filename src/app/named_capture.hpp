// SPDX-License-Identifier: GPL-3.0-or-later
// Finds the recordings that a log names without the endings of their files.
#pragma once

#include <map>
#include <mutex>
#include <string>
#include <vector>

#include "evenwall/files.hpp"

namespace evenwall::internal::app {

class NamedCaptures {
 public:
  /// `folder`: the folder of the log, to which its names are relative.
  explicit NamedCaptures(fs::path folder) : folder_(std::move(folder)) {}

  /// The name with the ending of its file: "step-3.wav" for "step-3". The name as it is, if something has this name, or if not exactly one
  /// recording has it with an ending. Each folder is read once. Several threads may call it at a time.
  [[nodiscard]] std::string file_of(const std::string& capture) const;

  /// For a name that more than one recording has with an ending: " step-3.flac and step-3.wav have this name. Write the ending in the
  /// log.", to be put after a message. Otherwise empty.
  [[nodiscard]] std::string several_sentence(const std::string& capture) const;

 private:
  using NamesByStem = std::map<std::string, std::vector<std::string>>;
  [[nodiscard]] const NamesByStem& recordings_in(const fs::path& folder) const;
  /// The recordings that have this name with an ending; none if something has the name as it is.
  [[nodiscard]] const std::vector<std::string>& recordings_named(const std::string& capture) const;

  fs::path folder_;
  mutable std::mutex guard_;
  mutable std::map<fs::path, NamesByStem> folders_;
};

}  // namespace evenwall::internal::app
