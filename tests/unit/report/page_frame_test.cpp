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

TEST_CASE("An HTML document loads nothing from the network, escapes its title and is complete") {
  const std::string page = html_document("<b>", html_section("one", html_heading("A & B")));
  CHECK(page.starts_with("<!DOCTYPE html>"));
  CHECK(page.ends_with("</html>\n"));
  CHECK(holds(page, "default-src 'none'"));
  CHECK(holds(page, "<title>&lt;b&gt;</title>"));
  CHECK(holds(page, "<section id=\"one\">\n<h2>A &amp; B</h2>"));
}

TEST_CASE("The list of warnings ends at the stated number, and the others are counted") {
  Warnings many(50, {WarningCode::kNoisy, "step <1>"});
  const std::string cut = html_warnings(many, 40);
  CHECK(count(cut, "<li>") == 40);
  CHECK(holds(cut, "10 more warnings are not shown here. The JSON document contains all of them."));
  CHECK(holds(cut, "step &lt;1&gt;"));
  CHECK(count(html_warnings(many, 50), "<li>") == 50);
  CHECK_FALSE(holds(html_warnings(many, 50), "not shown"));
  CHECK(holds(html_warnings({}, 40), "There are no warnings."));
}

TEST_CASE("A note states that charts are missing if gnuplot does not draw them") {
  Chart broken{"one", "Title", "words", "caption", {}};
  broken.script.command("no such command");
  const std::string html = html_charts({broken}, "charts");
  CHECK(holds(html, "id=\"no-charts\""));
  CHECK_FALSE(holds(html, "<figure"));
  CHECK(html_charts({}, "charts").empty());
}
