#include "report/page_inputs.hpp"

#include "support/catch.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;

namespace {

bool holds(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("The inputs list what the document holds, and no more") {
  Solution s = example_solution();
  s.session.gauge_u_deg = 0.05;
  std::string all;
  for (const auto& row : inputs_table(s).rows) {
    for (const auto& cell : row) all += cell + "\n";
  }
  CHECK(holds(all, "0.05"));
  CHECK(holds(all, "made by"));
  CHECK_FALSE(holds(all, "rpm"));
}
