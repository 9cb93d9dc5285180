// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/usage_suggestion.hpp"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <optional>
#include <vector>

#include "base/nearest.hpp"

namespace evenwall::internal::app {
namespace {

std::vector<std::string> command_names(const CLI::App& root) {
  std::vector<std::string> names;
  for (const CLI::App* command : root.get_subcommands([](const CLI::App*) { return true; })) names.push_back(command->get_name());
  return names;
}

std::vector<std::string> option_names(const CLI::App& command) {
  std::vector<std::string> names;
  for (const CLI::Option* option : command.get_options()) {
    for (const std::string& name : option->get_lnames()) names.push_back("--" + name);
    for (const std::string& name : option->get_snames()) names.push_back("-" + name);
  }
  return names;
}

bool contains(const std::vector<std::string>& names, const std::string& name) {
  return std::find(names.begin(), names.end(), name) != names.end();
}

/// Whether the word is written as an option with a name. "-", "--" and negative numbers are not.
bool names_an_option(const std::string& word) {
  const std::size_t at = word.find_first_not_of('-');
  return at != std::string::npos && at >= 1 && at <= 2 && ((word[at] >= 'a' && word[at] <= 'z') || (word[at] >= 'A' && word[at] <= 'Z'));
}

}  // namespace

std::string usage_suggestion(const CLI::App& root, int argc, const char* const* argv) {
  const std::vector<std::string> words(argv + std::min(argc, 1), argv + argc);
  const std::vector<std::string> commands = command_names(root);
  const auto command = std::find_if(words.begin(), words.end(), [](const std::string& word) { return !names_an_option(word); });
  const bool known = command != words.end() && contains(commands, *command);
  if (command != words.end() && !known) {
    const std::optional<std::string> nearest = base::nearest_name(*command, commands);
    return nearest ? ". The nearest command is " + *nearest : "";
  }
  const std::vector<std::string> options = option_names(known ? *root.get_subcommand(*command) : root);
  for (const std::string& word : words) {
    if (word == "--") break;
    const std::string name = word.substr(0, word.find('='));
    if (!names_an_option(name) || contains(options, name)) continue;
    if (const auto nearest = base::nearest_name(name, options)) return ". The nearest option is " + *nearest;
  }
  return "";
}

}  // namespace evenwall::internal::app
