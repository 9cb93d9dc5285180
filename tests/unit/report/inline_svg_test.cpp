// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/inline_svg.hpp"

#include "support/catch.hpp"
#include "support/holds.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

namespace {

// A document as gnuplot 5.4 writes it, shortened.
constexpr const char* kDocument =
    "<?xml version=\"1.0\"?>\n<svg \n viewBox=\"0 0 360 260\"\n xmlns=\"http://www.w3.org/2000/svg\">\n<title>Gnuplot</title>\n"
    "<desc>Produced by GNUPLOT</desc>\n<g id=\"gnuplot_canvas\">\n<defs><circle id='gpDot' r='0.5'/><path id='gpPt0'/>"
    "<filter id='textbox'>\n<feFlood/></filter></defs>\n<g id=\"a_plot_1\" ><title>x</title><use xlink:href='#gpPt0'/>"
    "<path stroke='rgb(  1,   0,   0)'/><text fill=\"black\">1</text><text fill=\"rgb(  4,   0,   0)\"/></g></g>\n</svg>\n";

}  // namespace

TEST_CASE("a chart on the page has ids of its own, the colours of the page, a title and a description") {
  const std::string svg = inline_svg(kDocument, "phase", "Phase <of>", "Two & more").value();
  CHECK(svg.starts_with("<svg class=\"chart\" viewBox=\"0 0 360 260\" role=\"img\" aria-labelledby=\"phase-title phase-description\""));
  CHECK(holds(svg, "<title id=\"phase-title\">Phase &lt;of&gt;</title>"));
  CHECK(holds(svg, "<desc id=\"phase-description\">Two &amp; more</desc>"));
  CHECK(holds(svg, "<circle id='phase-dot' r='0.5'/><path id='phase-mark-0'/></defs>"));
  CHECK(holds(svg, "<g ><use xlink:href='#phase-mark-0'/>"));
  CHECK(holds(svg, "<path stroke='var(--first)'/><text fill=\"currentColor\">1</text><text fill=\"var(--faint)\"/>"));
  CHECK_FALSE(holds(svg, "gnuplot"));
  CHECK(svg.ends_with("</svg>\n"));
}

TEST_CASE("a text that is not a chart of gnuplot is refused") {
  CHECK_FALSE(inline_svg("", "a", "", ""));
  CHECK_FALSE(inline_svg("<svg viewBox=\"0 0 1 1\"><desc></desc>", "a", "", ""));
  CHECK_FALSE(inline_svg("</svg><svg viewBox=\"0 0 1 1\"><desc></desc>", "a", "", ""));
}
