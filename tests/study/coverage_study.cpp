// SPDX-License-Identifier: GPL-3.0-or-later
// Counts how often the 95 % intervals hold the true value, over random rigs: the figures of docs/accuracy.md.
// Usage: study_coverage [sessions per cell]. The exit status is 1 if a cell leaves its bounds.
#include <cstdio>
#include <cstdlib>

#include "evenwall/solve.hpp"
#include "numeric/distributions.hpp"
#include "solve/criteria.hpp"
#include "solve/joint_fit.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;
using namespace evenwall::internal::solve;

namespace {

constexpr double kMostLost_percent = 0.1;    // an interval may exceed the search range if four steps scatter widely
constexpr double kMostBlamed_percent = 0.1;  // the threshold is p = 1e-4

struct Cell {
  int steps;
  double gauge_deg;
  bool stated;
};

struct Tally {
  int sessions = 0, least = 0, equal = 0, equal_held = 0;
  int blamed = 0;  // sessions in which crosstalk was reported as contradictory, which it is not
  int lost = 0;    // equal crosstalk is not given, although the same readings with the gauge stated give it
  double least2 = 0, u2 = 0;
  void add(const Tally& other) {
    sessions += other.sessions, least += other.least, equal += other.equal, equal_held += other.equal_held, blamed += other.blamed;
    lost += other.lost;
  }
};

Session draw_session(const rig::Rig& r, const Cell& cell, rig::Draw& draw) {
  Session session;
  if (cell.stated) session.facts.gauge_u_deg = cell.gauge_deg;
  const double span = draw.uniform(1.5, 4.0);
  const double u = 6e-5 * std::pow(10.0, draw.uniform(0, 1));
  const double scale = cell.stated ? 1 + 0.02 * draw.normal() : 1.0;
  for (int i = 0; i < cell.steps; ++i) {
    const double logged = -span + 2 * span * i / (cell.steps - 1);
    Step step = rig::step(r, scale * logged + cell.gauge_deg * draw.normal(), logged, u, draw, i);
    session.steps.push_back(std::move(step));
  }
  return session;
}

bool gives_equal(const TiltFit& fit) {
  return determination(CriterionKind::kEqual, fit).determined && criterion_tilt(CriterionKind::kEqual, fit);
}

bool holds(const Interval& interval, double x) { return interval[0] <= x && x <= interval[1]; }

Tally run(const Cell& cell, int sessions, std::uint64_t first_seed) {
  Tally tally;
  for (int i = 0; i < sessions; ++i) {
    rig::Draw draw(first_seed + static_cast<std::uint64_t>(i));
    rig::Rig r = rig::random_rig(draw);
    r.cut_ratio = std::pow(10.0, 0.3 * draw.normal() / 20);
    Session session = draw_session(r, cell, draw);
    const JointFit fit = fit_jointly(session, {});
    const auto least = criterion_tilt(CriterionKind::kLeast, fit.tilt);
    const double truth = rig::least_truth_deg(r);
    ++tally.sessions;
    tally.blamed += !fit.observations.set_aside.empty() || fit.observations.leak_variance_factor > 1 ? 1 : 0;
    if (least) {
      tally.least += holds(least->interval95_deg, truth) ? 1 : 0;
      tally.least2 += (least->tilt_deg - truth) * (least->tilt_deg - truth) / sessions;
      tally.u2 += least->u_deg * least->u_deg / sessions;
    }
    if (!gives_equal(fit.tilt)) {
      session.facts.gauge_u_deg = cell.gauge_deg;
      tally.lost += gives_equal(fit_jointly(session, {}).tilt) ? 1 : 0;
      continue;
    }
    const auto equal = criterion_tilt(CriterionKind::kEqual, fit.tilt);
    ++tally.equal;
    bool held = false;
    for (const double root : rig::equal_truths_deg(r)) held |= holds(equal->interval95_deg, root);
    tally.equal_held += held ? 1 : 0;
  }
  return tally;
}

double percent(int part, int whole) { return whole > 0 ? 100.0 * part / whole : 0.0; }

/// Runs the cells of one kind. Returns true if their sum keeps within the bounds.
bool study(const char* title, const std::vector<Cell>& cells, int sessions, double low, double high) {
  std::printf("%s\n  steps  gauge  sessions  least %%   rms err   rms u  determined %%  lost  equal %%\n", title);
  Tally all;
  std::uint64_t seed = 1'000'000;
  for (const Cell& cell : cells) {
    const Tally t = run(cell, sessions, seed += 100'000);
    std::printf("  %5d  %5.2f  %8d  %7.1f  %8.4f  %6.4f  %12.1f  %4d  %7.1f\n", cell.steps, cell.gauge_deg, t.sessions,
                percent(t.least, t.sessions), std::sqrt(t.least2), std::sqrt(t.u2), percent(t.equal, t.sessions), t.lost,
                percent(t.equal_held, t.equal));
    std::fflush(stdout);
    all.add(t);
  }
  const double least = percent(all.least, all.sessions), equal = percent(all.equal_held, all.equal);
  const double blamed = percent(all.blamed, all.sessions);
  const bool good = least >= low && least <= high && equal >= low && equal <= high && blamed < kMostBlamed_percent &&
                    percent(all.lost, all.sessions) < kMostLost_percent;
  std::printf(
      "  all: %d sessions, least %.2f %%, equal %.2f %% (required %.0f to %.0f), contradictory crosstalk reported in %d "
      "(less than %.1f %%), equal lost %d (less than %.1f %%): %s\n\n",
      all.sessions, least, equal, low, high, all.blamed, kMostBlamed_percent, all.lost, kMostLost_percent, good ? "held" : "NOT HELD");
  return good;
}

/// Counts how often a gauge three times worse than stated is detected, against the power of the chi-square test itself.
bool understated(int sessions) {
  std::printf("The gauge uncertainty is stated three times too small (0.03 for 0.09 degrees)\n");
  bool good = true;
  for (const int steps : {4, 5, 6, 9}) {
    int found = 0, objects = 0;
    for (int i = 0; i < sessions; ++i) {
      rig::Draw draw(3'000'000 + static_cast<std::uint64_t>(1000 * steps + i));
      const rig::Rig r = rig::random_rig(draw);
      Session session = draw_session(r, {steps, 0.09, true}, draw);
      session.facts.gauge_u_deg = 0.03;
      const JointFit fit = fit_jointly(session, {});
      found += says(fit.warnings, WarningCode::kGaugeUnderstated) ? 1 : 0;
      objects += fit.tilt.stated_p_value < 0.01 ? 1 : 0;
    }
    // The scatter is nine times the stated variance. With perfect readings the test at 1 % would find it if a chi-square value exceeds a
    // ninth of its critical value. The readings' own noise dilutes it; `objects` counts the test's results on these same sessions.
    const double nu = steps - 1;
    double critical = nu;
    while (chi_square_upper(critical, nu) > 0.01) critical += 0.01;
    const double power = 100 * chi_square_upper(critical / 9, nu);
    std::printf("  %d steps: a warning in %.1f %%, the test rejects in %.1f %%, with perfect readings it would reject in %.1f %%\n", steps,
                percent(found, sessions), percent(objects, sessions), power);
    good = good && found > 0.9 * objects;
  }
  return good;
}

/// Checks that one step of six, logged 0.6 degrees wrong with a gauge of 0.02 degrees, is named.
bool wrong_step(int sessions) {
  std::printf("One step of six is logged 0.6 degrees wrong, and the gauge uncertainty is 0.02 degrees\n");
  bool good = true;
  for (const int wrong : {0, 2, 5}) {
    double answer2 = 0, tilt2 = 0;
    int named = 0, others = 0;
    for (int i = 0; i < sessions; ++i) {
      rig::Draw draw(4'000'000 + static_cast<std::uint64_t>(i));
      const rig::Rig r = rig::random_rig(draw);
      Session session;
      session.facts.gauge_u_deg = 0.02;
      double true_tilt = 0;
      for (int k = 0; k < 6; ++k) {
        const double tilt = -2.5 + k, played = tilt + 0.02 * draw.normal();
        Step step = rig::step(r, played, k == wrong ? tilt + 0.6 : tilt, 1e-4, draw, k);
        if (k == wrong) true_tilt = played;
        session.steps.push_back(std::move(step));
      }
      const Solution s = solve(session, {});
      answer2 += std::pow(s.least_crosstalk.tilt_deg - rig::least_truth_deg(r), 2) / sessions;
      for (const SolvedStep& step : s.steps) {
        const bool is_wrong = step.capture == "step-" + std::to_string(wrong);
        (is_wrong ? named : others) += step.flags.empty() ? 0 : 1;
        if (is_wrong) tilt2 += std::pow(step.tilt_from_signal_deg - true_tilt, 2) / sessions;
      }
    }
    std::printf(
        "  step %d: flagged in %d of %d, others flagged %d, rms error of the answer %.4f deg, of its tilt from the signal %.4f deg\n",
        wrong + 1, named, sessions, others, std::sqrt(answer2), std::sqrt(tilt2));
    good = good && named == sessions && others == 0 && std::sqrt(answer2) < 0.03 && std::sqrt(tilt2) < 0.03;
  }
  return good;
}

}  // namespace

int main(int argc, char** argv) {
  const int sessions = argc > 1 ? std::atoi(argv[1]) : 1000;
  std::vector<Cell> stated, unstated;
  for (const int steps : {4, 5, 6, 9}) {
    for (const double gauge : {0.0, 0.05, 0.1}) stated.push_back({steps, gauge, true});
    for (const double gauge : {0.03, 0.06, 0.1}) unstated.push_back({steps, gauge, false});
  }
  const bool first = study("The gauge uncertainty is stated correctly", stated, sessions, 94, 96);
  const bool second = study("The gauge uncertainty is not stated", unstated, sessions, 93, 97);
  const bool third = understated(sessions);
  const bool fourth = wrong_step(30);
  return first && second && third && fourth ? 0 : 1;
}
