// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/refusal.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;

namespace {

SessionFile session_of(std::string_view text) {
  const TempFolder folder;
  return read_session_file(folder.write("session.json", text));
}
std::string refused_session(std::string_view text) {
  return refusal_of([&] { session_of(text); });
}
}  // namespace

TEST_CASE("Every key of a session file reaches its field") {
  const auto file = session_of(R"({"cartridge":"No. 7","record":"T1","record_side":"A","rig":"bench","operator":"E","date":"2026-05-14",
    "stylus":{"profile":"line","major_radius_um":75,"tilt_limit_deg":2,"upright_at_deg":-0.5},"bands":["left","right","lateral","vertical"],
    "gauge_u_deg":0.05,"gauge_zero_u_deg":0.1,"gauge_scale_u":0.02,"record_u_deg":0.3,"slope_u":0.01,"cut_level_difference_db":0.5,"cut_level_u_db":0.2,
    "hole_spacing_mm":12.7,"shim_span_mm":14,"frequency_hz":1000,"rpm":33.333,"calibration":"e.json","colour":"red","size":3})");
  const SessionFacts& f = file.facts;
  CHECK((f.cartridge == "No. 7" && f.record == "T1" && f.record_side == "A" && f.rig == "bench" && f.operator_name == "E" &&
         f.date == "2026-05-14"));
  REQUIRE(f.stylus);
  CHECK((f.stylus->profile == "line" && f.stylus->major_radius_um == 75 && f.stylus->tilt_limit_deg == 2 &&
         f.stylus->upright_at_deg == -0.5));
  CHECK(f.bands == std::vector<Band>{Band::kLeft, Band::kRight, Band::kLateral, Band::kVertical});
  CHECK((f.gauge_u_deg == 0.05 && f.gauge_zero_u_deg == 0.1 && f.gauge_scale_u == 0.02 && f.record_u_deg == 0.3 && f.slope_u == 0.01));
  CHECK((f.cut_level_difference_db == 0.5 && f.cut_level_u_db == 0.2 && f.hole_spacing_mm == 12.7 && f.shim_span_mm == 14));
  CHECK((f.frequency_hz == 1000 && f.rpm == 33.333 && f.calibration == "e.json"));
  CHECK(f.other_texts == std::map<std::string, std::string>{{"colour", "red"}});
  REQUIRE(file.warnings.size() == 2);
  for (const Warning& w : file.warnings) CHECK(w.code == WarningCode::kUnknownKey);
  CHECK(holds(file.warnings[0].message, "/colour"));
  CHECK(session_of("{}").warnings.empty());
}

TEST_CASE("The keys for the client, the workshop and the conditions reach their fields, and are written again") {
  const auto file = session_of(R"({"client":"M. Fenn","workshop":"Lower Mill","notes":"two lines\nhere","cartridge_model":"Larkspur Mk 2",
    "vtf_mn":17.5,"anti_skate":"1.5 of 3","temperature_c":21,"gauge_certificate":"G-114","tolerance_deg":0.1})");
  CHECK(file.warnings.empty());
  const SessionFacts& f = file.facts;
  CHECK((f.client == "M. Fenn" && f.workshop == "Lower Mill" && f.notes == "two lines\nhere" && f.cartridge_model == "Larkspur Mk 2"));
  CHECK((f.vtf_mn == 17.5 && f.anti_skate == "1.5 of 3" && f.temperature_c == 21 && f.gauge_certificate == "G-114"));
  CHECK(f.tolerance_deg == 0.1);
  CHECK(f.other_texts.empty());
  const SessionFacts back = session_of(session_text(f)).facts;
  CHECK((back.client == f.client && back.workshop == f.workshop && back.notes == f.notes && back.cartridge_model == f.cartridge_model));
  CHECK((back.vtf_mn == f.vtf_mn && back.anti_skate == f.anti_skate && back.temperature_c == f.temperature_c));
  CHECK((back.gauge_certificate == f.gauge_certificate && back.tolerance_deg == f.tolerance_deg));
  CHECK(session_of(R"({"anti_skate":1.5})").facts.anti_skate == "1.5");
  CHECK(holds(refused_session(R"({"tolerance_deg":0})"), "key /tolerance_deg is 0; 0.001 to 5° is possible"));
  CHECK(holds(refused_session(R"({"vtf_mn":0.018})"), "key /vtf_mn is 0.018"));
  CHECK(holds(refused_session(R"({"client":7})"), "key /client is a number, not a text"));
}

TEST_CASE("A wrong session file is refused, and the message names the key or the line") {
  CHECK(holds(refused_session(R"({"cartridge":3})"), "key /cartridge is a number, not a text"));
  CHECK(holds(refused_session(R"({"gauge_u_deg":"0.1"})"), "key /gauge_u_deg is a text, not a number"));
  CHECK(holds(refused_session(R"({"gauge_u_deg":null})"), "key /gauge_u_deg is null"));
  CHECK(holds(refused_session(R"({"gauge_u_deg":true})"), "true or false"));
  CHECK(holds(refused_session(R"({"gauge_u_deg":-0.1})"), "key /gauge_u_deg is -0.1; 0 to 45"));
  CHECK(holds(refused_session(R"({"rpm":1e300})"), "key /rpm"));
  CHECK(holds(refused_session(R"({"stylus":"line"})"), "key /stylus is a text, not an object"));
  CHECK(holds(refused_session(R"({"stylus":{"tilt_limit_deg":400}})"), "key /stylus/tilt_limit_deg is 400"));
  CHECK(holds(refused_session(R"({"bands":["left","up"]})"), "key /bands/1 is not one of left, right, lateral, vertical"));
  CHECK(holds(refused_session(R"({"bands":"left"})"), "is a text, not a list"));
  CHECK(holds(refused_session(R"({"date":"14.5.2026"})"), "ISO 8601"));
  CHECK(holds(refused_session(R"({"date":"2026-13-01"})"), "ISO 8601"));
  CHECK(holds(refused_session(R"({"rpm":33,"rpm":45})"), "key \"rpm\" is repeated"));
  CHECK(holds(refused_session("{\n\"rpm\":33,\n}"), "line 3"));
  CHECK(holds(refused_session("[]"), "the document is a list, not an object"));
  CHECK(holds(refused_session("{\"cartridge\":\"" + std::string(1 << 20, 'x') + "\"}"), "longer than 1048576 bytes"));
}

TEST_CASE("An empty text counts as an absent key, also for a date and a calibration") {
  const auto file = session_of(R"({"cartridge":"","date":"","calibration":"","client":"","anti_skate":"","bands":[]})");
  CHECK(session_text(file.facts) == session_text(SessionFacts()));
  CHECK(file.warnings.empty());
}

TEST_CASE("An aim is one of four words") {
  const SessionFile file = session_of(R"({"aim":"phase"})");
  CHECK(file.facts.aim == Aim::kPhase);
  CHECK(file.warnings.empty());
  CHECK(holds(session_text(file.facts), R"("aim": "phase")"));
  CHECK_FALSE(session_of(R"({"aim":""})").facts.aim);
  CHECK(session_of(R"({"aim":" Band "})").facts.aim == Aim::kBand);
  CHECK(holds(refused_session(R"({"aim":"best"})"), "key /aim is best. Write equal, least, phase or band."));
}

TEST_CASE("The settings of an adjuster are a step or a list of stops, and are written as they were given") {
  CHECK(session_of(R"({"settings":0.25})").facts.settings == Adjuster{0.25, {}});
  const auto stops = session_of(R"({"settings":[-1,0.5,2]})");
  CHECK(stops.facts.settings == Adjuster{std::nullopt, {-1, 0.5, 2}});
  CHECK(holds(session_text(stops.facts), "\"settings\": [\n    -1.0,\n    0.5,\n    2.0\n  ]"));
  CHECK(holds(session_text(session_of(R"({"settings":0.25})").facts), "\"settings\": 0.25"));
  CHECK(holds(refused_session(R"({"settings":0})"), "key /settings is a step that is not greater than zero"));
  CHECK(holds(refused_session(R"({"settings":-0.5})"), "is a step that is not greater than zero"));
  CHECK(holds(refused_session(R"({"settings":[]})"), "key /settings has 0 stops. State 1 to 1000."));
  CHECK(holds(refused_session(R"({"settings":[0,2e6]})"), "key /settings/1"));
  CHECK(holds(refused_session(R"({"settings":"half a degree"})"), "a number (the step) or a list of numbers (the stops)"));
}
