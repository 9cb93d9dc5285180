// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/joined_sides.hpp"

#include "app/capture_measurement.hpp"
#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/memory_source.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

namespace {

constexpr double kRl = 0.03, kLr = 0.02;

/// A folder with recordings of 3 s: "l…" holds the left-only band, "r…" the right-only band, "b…" both.
struct Bench {
  TempFolder folder;
  Bench() {
    for (const char* name : {"l1", "l2", "r1", "r2", "b1"}) {
      Canvas canvas(16000, 7);
      if (name[0] != 'r') canvas.tone(0.3, 2.5, 1000, 0.25, 0.25 * kLr);
      if (name[0] != 'l') canvas.tone(3.6, 2.5, 1000, 0.2 * kRl, 0.2);
      canvas.noise(1e-5, static_cast<std::uint64_t>(name[0] + name[1]));
      auto source = canvas.source();
      write_capture(source, 24, folder / (std::string(name) + ".wav"));
    }
  }
  [[nodiscard]] Step step(const std::string& name, double tilt_deg, StepUse use = StepUse::kYes) const {
    LogEntry log;
    log.capture = name + ".wav";
    log.tilt_deg = tilt_deg;
    log.use = use;
    return {log, measured(folder / log.capture, log.capture, {})};
  }
  /// The captures that come out, and the warnings.
  struct Result {
    std::vector<Step> steps;
    Warnings warnings;
    [[nodiscard]] std::vector<std::string> captures() const {
      std::vector<std::string> names;
      for (const Step& s : steps) names.push_back(s.log.capture);
      return names;
    }
  };
  [[nodiscard]] Result joined(std::vector<Step> steps) const {
    Result result;
    JoinedSides sides(
        folder.path(), {}, [&](Step s) { result.steps.push_back(std::move(s)); },
        [&](Warning w) { result.warnings.push_back(std::move(w)); });
    for (Step& s : steps) sides.add(std::move(s));
    sides.finish();
    return result;
  }
};

using Names = std::vector<std::string>;

}  // namespace

TEST_CASE("Two sides of one tilt become one step with both directions, in the place of the first") {
  const Bench bench;
  const auto result =
      bench.joined({bench.step("b1", -1), bench.step("r1", 0), bench.step("b1", 1), bench.step("l1", 0), bench.step("b1", 2)});
  CHECK(result.captures() == Names{"b1.wav", "r1.wav + l1.wav", "b1.wav", "b1.wav"});
  const Measurement* both = result.steps[1].measurement();
  REQUIRE(both != nullptr);
  CHECK_FALSE(both->order_known);
  REQUIRE((both->crosstalk.left_into_right && both->crosstalk.right_into_left));
  CHECK_THAT(both->crosstalk.left_into_right->same_passage.value.real(), WithinAbs(kLr, 1e-5));
  CHECK_THAT(both->crosstalk.right_into_left->same_passage.value.real(), WithinAbs(kRl, 1e-5));
  CHECK_THAT(*both->balance_db, WithinAbs(20 * std::log10(0.25 / 0.2), 1e-3));
  REQUIRE(result.warnings.size() == 1);
  CHECK(result.warnings[0].code == WarningCode::kJoined);
  CHECK(holds(result.warnings[0].message, "r1.wav and l1.wav hold one side each"));
}

TEST_CASE("Sides of other tilts or uses, equal sides and whole recordings are not joined") {
  const Bench bench;
  CHECK(bench.joined({bench.step("l1", 0), bench.step("r1", 1)}).captures() == Names{"l1.wav", "r1.wav"});
  CHECK(bench.joined({bench.step("l1", 0), bench.step("r1", 0, StepUse::kVerify)}).captures().size() == 2);
  CHECK(bench.joined({bench.step("l1", 0), bench.step("l2", 0)}).captures().size() == 2);
  CHECK(bench.joined({bench.step("l1", 0), bench.step("b1", 0)}).captures().size() == 2);
  CHECK(bench.joined({bench.step("gone", 0), bench.step("l1", 0), bench.step("gone", 0)}).captures() ==
        Names{"gone.wav", "l1.wav", "gone.wav"});
}

TEST_CASE("Each side is joined once") {
  const Bench bench;
  const auto result = bench.joined({bench.step("l1", 0), bench.step("l2", 0), bench.step("r1", 0), bench.step("r2", 0)});
  CHECK(result.captures() == Names{"l1.wav + r1.wav", "l2.wav + r2.wav"});
  CHECK(result.warnings.size() == 2);
}

TEST_CASE("A joined step has the SHA-256 of both recordings, or none if one lacks it") {
  const Bench bench;
  Step left = bench.step("l1", 0), right = bench.step("r1", 0);
  std::get<Measurement>(left.result).audio.sha256 = std::string(64, 'a');
  CHECK_FALSE(bench.joined({left, right}).steps.at(0).measurement()->audio.sha256);
  std::get<Measurement>(right.result).audio.sha256 = std::string(64, 'b');
  CHECK(bench.joined({left, right}).steps.at(0).measurement()->audio.sha256 == std::string(64, 'a') + " + " + std::string(64, 'b'));
}
