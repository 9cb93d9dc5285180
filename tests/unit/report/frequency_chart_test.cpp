#include "report/solution_charts.hpp"
#include "support/catch.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;

namespace {

bool holds(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("The chart by frequency is there where several frequencies are, and only then") {
  Solution s = example_solution();
  CHECK_FALSE(frequency_chart(s));
  s.by_frequency = {{315, std::nullopt, std::nullopt, 1.11, 0.02}, {1000, 1.21, 0.03, 1.13, 0.01}, {3150, 1.3, 0.05, 1.17, 0.04}};
  const auto chart = frequency_chart(s);
  REQUIRE(chart);
  for (const char* number : {"1.11", "1.13", "1.17", "1.21"}) CHECK(holds(chart->script.text(), number));
  for (const char* tone : {"315 Hz", "1000 Hz", "3150 Hz"}) CHECK(holds(chart->description, tone));
}
