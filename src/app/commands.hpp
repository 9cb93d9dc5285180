// SPDX-License-Identifier: GPL-3.0-or-later
// Declares one function per command. It takes the command's options and returns the exit status. Throws: Error if no work could be done.
#pragma once

#include "app/options.hpp"

namespace evenwall::internal::app {

int run_measure(const MeasureCommand& command);
int run_solve(const SolveCommand& command);
int run_calibrate(const CalibrateCommand& command);
int run_survey(const SurveyCommand& command);
int run_report(const ReportCommand& command);
int run_simulate(const SimulateCommand& command);
int run_new(const NewCommand& command);
int run_watch(const WatchCommand& command);

}  // namespace evenwall::internal::app
