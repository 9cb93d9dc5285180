// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/page_frame.hpp"

#include "support/catch.hpp"
#include "support/holds.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

namespace {

std::size_t count(const std::string& text, const std::string& part) {
  std::size_t n = 0;
  for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++n;
  return n;
}

}  // namespace

TEST_CASE("A document is closed to the network, escapes its title and is whole") {
  const std::string page = html_document("<b>", html_section("one", html_heading("A & B")));
  CHECK(page.starts_with("<!DOCTYPE html>"));
  CHECK(page.ends_with("</html>\n"));
  CHECK(holds(page, "default-src 'none'"));
  CHECK(holds(page, "<title>&lt;b&gt;</title>"));
  CHECK(holds(page, "<section id=\"one\">\n<h2>A &amp; B</h2>"));
}

TEST_CASE("Warnings are cut at the number asked for, and the rest is counted") {
  Warnings many(50, {WarningCode::kNoisy, "step <1>"});
  const std::string cut = html_warnings(many, 40);
  CHECK(count(cut, "<li>") == 40);
  CHECK(holds(cut, "10 more warnings are left out here"));
  CHECK(holds(cut, "step &lt;1&gt;"));
  CHECK(count(html_warnings(many, 50), "<li>") == 50);
  CHECK_FALSE(holds(html_warnings(many, 50), "left out"));
  CHECK(holds(html_warnings({}, 40), "None."));
}

TEST_CASE("A chart that gnuplot does not draw is told of") {
  Chart broken{"one", "Title", "words", "caption", {}};
  broken.script.command("no such command");
  const std::string html = html_charts({broken}, "charts");
  CHECK(holds(html, "id=\"no-charts\""));
  CHECK_FALSE(holds(html, "<figure"));
  CHECK(html_charts({}, "charts").empty());
}
