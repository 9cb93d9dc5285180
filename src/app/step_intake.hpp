// SPDX-License-Identifier: GPL-3.0-or-later
// Collects steps and readings into a session. Those that cannot be used are named or counted.
#pragma once

#include <optional>
#include <string>

#include "evenwall/model.hpp"
#include "tables/excluded_steps.hpp"

namespace evenwall::internal::app {

/// Adds steps to a session. Of the steps that cannot be used, warnings name the first few and count the others.
class StepIntake {
 public:
  /// `name`: name of the source of the steps, escaped for display.
  StepIntake(Session& session, std::string name) : session_(session), name_(std::move(name)), excluded_(name_) {}

  /// Throws: Error(kInput) if there are too many usable steps, as keep().
  void add(Step step);
  /// Adds a step. If it has an error, the session's warnings must name it already.
  void keep(Step step);
  /// Must be called once, after the last step. It counts each recording once and adds the warnings of the measured steps.
  void finish();

 private:
  Session& session_;
  std::string name_;
  tables::ExcludedSteps excluded_;
  std::size_t usable_ = 0;
};

/// Takes the session's facts from the first reading that has any. Of the readings that differ from it, warnings name the
/// first few and count the others.
class FactsIntake {
 public:
  explicit FactsIntake(Session& session) : session_(session) {}
  void add(const Reading& reading);
  void finish();

 private:
  Session& session_;
  std::optional<std::string> first_;
  std::size_t different_ = 0;
};

/// Takes readings one after the other, so that unusable ones do not fill the memory.
class ReadingsIntake {
 public:
  /// `name`: name of the file of readings, as the user wrote it.
  explicit ReadingsIntake(const std::string& name);
  ReadingsIntake(const ReadingsIntake&) = delete;
  ReadingsIntake& operator=(const ReadingsIntake&) = delete;
  /// Throws: Error(kInput) if there are too many usable readings.
  void add(Reading reading);
  Session finish();

 private:
  Session session_;
  FactsIntake facts_;
  StepIntake steps_;
};

}  // namespace evenwall::internal::app
