// SPDX-License-Identifier: GPL-3.0-or-later
// Provides documents with their fields set, and checks documents against the schemas.
#pragma once

#include <cmath>
#include <cstdlib>
#include <string>

#include "evenwall/model.hpp"
#include "support/temp_folder.hpp"

inline evenwall::SessionFacts full_facts() {
  evenwall::SessionFacts facts;
  facts.cartridge = "No. 7";
  facts.record = "T1";
  facts.operator_name = "E";
  facts.stylus = evenwall::Stylus{"line", 75.0, 2.0, -0.5};
  facts.bands = {evenwall::Band::kLeft, evenwall::Band::kVertical};
  facts.gauge_u_deg = 0.1 + 0.2;  // 0.30000000000000004 needs all its digits
  facts.client = "M. Fenn";
  facts.workshop = "Lower Mill";
  facts.notes = "a note";
  facts.cartridge_model = "Larkspur Mk 2";
  facts.vtf_mn = 17.5;
  facts.anti_skate = "1.5";
  facts.temperature_c = 21.0;
  facts.gauge_certificate = "G-114";
  facts.tolerance_deg = 0.1;
  facts.other_texts["colour"] = "red";
  return facts;
}

inline evenwall::Reading full_reading() {
  using namespace evenwall;
  LogEntry log;
  log.capture = "a b\".wav";
  log.tilt_deg = -1.0 / 3;
  log.tilt_u = 0.05;
  log.use = StepUse::kAsFound;
  Measurement r;
  r.audio = {96000, 2, 12.5, "WAV PCM 24-bit"};
  Passage tone;
  tone.driven = Driven::kBoth;
  tone.relation = Relation::kAntiphase;
  tone.end_s = 5.4;
  tone.frequency_hz = 1000.1;
  tone.level_left_dbfs = -12;
  tone.wow_percent = 0.1;
  Passage sweep;
  sweep.kind = PassageKind::kSweep;
  sweep.driven = Driven::kLeft;
  sweep.frequency_from_hz = 20;
  sweep.frequency_to_hz = 20000;
  r.passages = {tone, sweep};
  Leak leak;
  leak.db = -30.123456789012345;
  leak.phase_deg = 179.99;
  leak.same_passage = {{1e-300, -0.0}, 4.9e-324, 1e12, -0.25};  // u_re is the least double, u_im the largest permitted value
  leak.u_re = 1e-5;
  r.crosstalk = {1000.1, leak, std::nullopt};
  r.crosstalk_spectrum = {r.crosstalk, {3000, std::nullopt, leak}};
  r.balance_db = 0.1;
  r.warnings = {{WarningCode::kHum, "50 Hz"}, {WarningCode::kNoisy, "Kühn"}};
  return {{log, r}, full_facts()};
}

inline evenwall::Solution full_solution() {
  using namespace evenwall;
  Solution s;
  s.session = full_facts();
  s.frequency_hz = 1000;
  s.options.gauge_u_deg = 0.05;
  s.options.calibration_path = "e.json";
  s.options.record_correction = RecordCorrection{"archive.json", "T1, side A", 0.08, 0.03};
  s.recommended = {1.0 / 3, 0.02, {0.29, 0.37},         3.5,
                   12.0,    0.7,  Interval{10.6, 13.4}, Basis::kEqualCrosstalk,
                   -30,     -30,  Scope::kAnyRecord,    "both determined"};
  s.equal_crosstalk = {true, 0.33, 0.02, Interval{0.29, 0.37}, -30.0, std::nullopt};
  s.least_crosstalk = {0.3, 0.01, {0.28, 0.32}, -31, -29};
  s.phase_match = {false, std::nullopt, std::nullopt, std::nullopt, std::nullopt, "no quadrature shear"};
  s.balance.from_levels_db = 0.5;
  s.balance.used = BalanceSource::kBoth;
  s.tilt_response = {-0.98, 0.01, Sense::kReversed};
  s.not_correctable = {-30, std::nullopt, 0.2};
  SolvedStep step;
  step.capture = "a.wav";
  step.flags = {StepFlag::kStepOff};
  s.steps = {step, step};
  s.curves = {{-1, 0}, {-30, -31}, {-29, -28}, {{-INFINITY, -29}, {-32, -30}}, {{-30, -28}, {-29, -27}}};
  s.by_frequency = {{1000, 0.3, 0.01, 0.29, 0.01}, {3000, std::nullopt, std::nullopt, 0.31, 0.02}};
  s.as_found = AsFound{"b.wav", -25, -24, std::nullopt};
  s.verification = {{"c.wav", 1, -30, -31, -30.1, -31.1, {-31, -29}, {-32, -30}, false}};
  s.contact = {2.0, true, std::nullopt};
  s.shim = {0, 0.33, 0.07, Side::kSpindleSide, Side::kOuterSide};
  s.source = "clients/larkspur";
  s.now = Now{"c.wav", TurnFrom::kVerify, -0.67, 0.01, {-0.69, -0.65}, 1.34, 0.02, TurnDirection::kAnticlockwise, 0.15, Side::kSpindleSide};
  s.set_to = SetTo{0.34, 0.025, {0.29, 0.39}, {}, {}, {}};
  s.verdict = Verdict{VerdictState::kCheck, 0.05, "look"};
  s.corrections = {{CorrectedCause::kPolarity, {"b.wav"}, "bands", "turned"}};
  s.uncertainty = {{"gauge", 0.02, 3.5, false}, {"record", 0.3, std::nullopt, true}};
  s.next_step = NextStep{1.5, "widest gain", 0.015};
  s.band.emplace();
  s.band->from_hz = 100;
  s.band->to_hz = 10000;
  s.band->frequencies = 21;
  s.band->least = {true, 0.7, 0.02, Interval{0.66, 0.74}, std::nullopt};
  s.band->equal.why = "no shear";
  s.band->total_db_at.recommended = -28;
  s.band->worst.frequency_hz = 8000;
  s.nearest_setting.emplace();
  s.nearest_setting->setting = 0.5;
  s.trade_off = {{Candidate::kEqual, 0.33, 0.02, -30, -30, 0, -30, 12.0, 0.25, -28.0}};
  s.warnings = {{WarningCode::kFewSteps, "3 steps"}};
  return s;
}

/// Empty if every document is valid under docs/NAME.schema.json, else the validator's message. Needs a python3 that has jsonschema.
inline std::string schema_fault(const std::string& name, const std::string& documents) {
  const TempFolder folder;
  const std::string document = folder.write("document.jsonl", documents).string();
  const std::string root = EVENWALL_SOURCE_DIR;
  for (const std::string python : {"python3", "/usr/bin/python3"}) {
    if (std::system((python + " -c 'import jsonschema; jsonschema.Draft202012Validator' >/dev/null 2>&1").c_str()) != 0) continue;
    const std::string log = (folder / "log").string();
    const std::string command = python + " '" + root + "/tests/support/validate.py' '" + root + "/docs/" + name + ".schema.json' '" +
                                document + "' >'" + log + "' 2>&1";
    return std::system(command.c_str()) == 0 ? "" : "invalid: " + folder.read("log");
  }
  return "no python3 with jsonschema on this machine: install python3-jsonschema";
}
