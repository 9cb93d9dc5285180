// SPDX-License-Identifier: GPL-3.0-or-later
// Steps and readings -> Session: what can be used is held, the rest is named or counted.
#pragma once

#include <optional>
#include <string>

#include "evenwall/model.hpp"
#include "tables/excluded_steps.hpp"

namespace evenwall::internal::app {

/// Adds steps to a session; those that cannot be used are named there, the first few of them, and counted.
class StepIntake {
 public:
  /// `name`: of what the steps come from, fit to show.
  StepIntake(Session& session, std::string name) : session_(session), name_(std::move(name)), excluded_(name_) {}

  /// Throws: Error(kInput) for more steps than any session has, as keep().
  void add(Step step);
  /// A step that is named in the session's warnings already, if it has an error.
  void keep(Step step);
  /// To be called once, after the last step: counts each recording once and adds the warnings of the measured steps.
  void finish();

 private:
  Session& session_;
  std::string name_;
  tables::ExcludedSteps excluded_;
  std::size_t usable_ = 0;
};

/// The facts of the first reading that has any; readings that differ from it are named, the first few of them.
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

/// Takes readings one after the other, so that only usable ones are held.
class ReadingsIntake {
 public:
  /// `name`: of the file of readings, as the user has it.
  explicit ReadingsIntake(const std::string& name);
  ReadingsIntake(const ReadingsIntake&) = delete;
  ReadingsIntake& operator=(const ReadingsIntake&) = delete;
  /// Throws: Error(kInput) for more readings than any session has.
  void add(Reading reading);
  Session finish();

 private:
  Session session_;
  FactsIntake facts_;
  StepIntake steps_;
};

}  // namespace evenwall::internal::app
