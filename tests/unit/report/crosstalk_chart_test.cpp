#include "report/solution_charts.hpp"
#include "support/catch.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;

namespace {

bool holds(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("The crosstalk chart draws both curves from the document's own numbers and tells what is in it") {
  const Solution s = example_solution();
  const auto chart = crosstalk_chart(s);
  REQUIRE(chart);
  CHECK(holds(chart->script.text(), "-30.3"));
  CHECK(holds(chart->script.text(), "right into left"));
  CHECK(holds(chart->script.text(), "left into right"));
  CHECK_FALSE(chart->description.empty());
  CHECK_FALSE(holds(chart->script.text(), "low.wav"));
  Solution bare = s;
  bare.curves = {};
  bare.steps.clear();
  CHECK_FALSE(crosstalk_chart(bare));
}
