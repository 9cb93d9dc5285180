#include "report/solution_tables.hpp"

#include <sstream>

#include "support/catch.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;

namespace {

template <class Add>
std::string page_of(Add add, const Solution& solution) {
  Page page(Ink::kPlain);
  add(page, solution);
  // Blanks as one: page_test is where alignment is tested.
  std::istringstream words(page.text());
  std::string all;
  for (std::string word; words >> word;) all += word + " ";
  return all;
}

bool holds(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("before is the state as found, or else the step nearest to where the move starts") {
  Solution s = example_solution();
  CHECK(holds(page_of(add_expectation, s), "captured at +0.00° -28.4 dB -30.6 dB"));
  CHECK(holds(page_of(add_expectation, s), "expected at +1.10° -36.0 dB -36.1 dB +0.42 dB"));
  s.as_found = AsFound{"found.wav", -25, -26, -0.5};
  CHECK(holds(page_of(add_expectation, s), "as found -25.0 dB -26.0 dB -0.50 dB"));
  s.verification = {{"check.wav", 1.1, -30, -31, -36, -36.1, {-38, -34}, {-38, -34}, false}};
  CHECK(holds(page_of(add_expectation, s), "NOT as predicted: check.wav at +1.10°"));
}

TEST_CASE("criteria that are not determined say why") {
  const std::string text = page_of(add_criteria, example_solution());
  CAPTURE(text);
  CHECK(holds(text, "equal crosstalk +1.104 ± 0.021° +1.063° to +1.146°"));
  CHECK(holds(text, "phase match not determined"));
  CHECK(holds(text, "Phase match: the shear has no quadrature part."));
  CHECK(holds(text, "by levels +0.42 ± 0.30 dB"));
  CHECK(holds(text, "below -33.3 dB"));
}

TEST_CASE("frequencies are shown from two on") {
  Solution s = example_solution();
  s.by_frequency = {{1000, 1.1, 0.02, 1.2, 0.02}};
  CHECK(page_of(add_frequencies, s).empty());
  s.by_frequency.push_back({3000, std::nullopt, std::nullopt, 1.3, 0.05});
  CHECK(holds(page_of(add_frequencies, s), "3000.0 Hz not determined +1.300 ± 0.050°"));
}

TEST_CASE("steps tell audit and flags, the budget its sum") {
  const Solution s = example_solution();
  CHECK(holds(page_of(add_steps, s), "middle.wav +0.00° +0.010 ± 0.020° -28.4 dB -30.6 dB yes step_off"));
  CHECK(holds(page_of(add_uncertainty, s), "gauge 0.0200° 3.0 no"));
  CHECK(holds(page_of(add_uncertainty, s), "together 0.0211° many"));
}
