// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/plot_engine.hpp"

#include <cstdlib>
#include <string>

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

namespace {

/// Sets PATH for the duration of one test.
class Path {
 public:
  explicit Path(const char* path) : before_(std::getenv("PATH") != nullptr ? std::getenv("PATH") : "") { ::setenv("PATH", path, 1); }
  ~Path() { ::setenv("PATH", before_.c_str(), 1); }
  Path(const Path&) = delete;
  Path& operator=(const Path&) = delete;

 private:
  std::string before_;
};

}  // namespace

TEST_CASE("gnuplot draws a script") {
  PlotScript script;
  script.command("set terminal svg size 100,50");
  script.command("plot {}*x", 2.5);
  const auto drawn = drawn_by_gnuplot(script);
  REQUIRE(drawn);
  CHECK(drawn->find("<svg") != std::string::npos);
  CHECK(drawn->find("</svg>") != std::string::npos);
}

TEST_CASE("a script and a drawing that are larger than a pipe holds are passed on whole") {
  PlotScript script;
  script.command("set terminal svg size 100,50");
  std::vector<DataRow> rows;
  for (int i = 0; i < 100000; ++i) rows.push_back({static_cast<double>(i), static_cast<double>((i * 7919) % 1000)});
  script.data("many", rows);
  script.command("plot $many with lines");
  CHECK(script.text().size() > 500000);
  const auto drawn = drawn_by_gnuplot(script);
  REQUIRE(drawn);
  CHECK(drawn->size() > 500000);
}

TEST_CASE("without gnuplot, or with one that fails, there is no drawing") {
  PlotScript script;
  script.command("no such command");
  CHECK_FALSE(drawn_by_gnuplot(script));
  const Path nowhere("/nonexistent");
  CHECK_FALSE(drawn_by_gnuplot(PlotScript()));
}
