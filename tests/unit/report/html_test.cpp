// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/html.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

TEST_CASE("no text can act as HTML, and invisible characters are written as visible codes") {
  CHECK(html_escaped("<b a=\"1\" c='2'>&amp;") == "&lt;b a=&quot;1&quot; c=&#39;2&#39;&gt;&amp;amp;");
  CHECK(html_escaped("a\x1b\x01") == "a\\x1B\\x01");
  CHECK(html_escaped("\u202E") == "\\u{202E}");
  CHECK(html_escaped("Wörter ±") == "Wörter ±");
}

TEST_CASE("elements, paragraphs and lists have their tags and escaped texts") {
  CHECK(element("p", "x", "class=\"a\"") == "<p class=\"a\">x</p>");
  CHECK(element("b", "x") == "<b>x</b>");
  CHECK(html_paragraph("a<b") == "<p>a&lt;b</p>\n");
  CHECK(html_list({"a", "<"}) == "<ul>\n<li>a</li>\n<li>&lt;</li>\n</ul>\n");
}

TEST_CASE("each cell has the name of its column, and columns of words are marked") {
  const std::string table = html_table({{{"step", "tilt", "flags"}, {"<1>", "2", "off"}}, true}, "Steps & all");
  CHECK(table ==
        "<table><caption>Steps &amp; all</caption><thead><tr><th scope=\"col\">step</th><th scope=\"col\">tilt</th><th "
        "scope=\"col\" class=\"words\">flags</th>"
        "</tr></thead><tbody>\n<tr><th scope=\"row\">&lt;1&gt;</th><td data-label=\"tilt\">2</td><td class=\"words\" "
        "data-label=\"flags\">off</td>"
        "</tr>\n</tbody></table>\n");
}
