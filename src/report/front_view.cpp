// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/front_view.hpp"

#include <fmt/format.h>

#include <cmath>

#include "report/html.hpp"
#include "report/solution_words.hpp"

namespace evenwall::internal::report {
namespace {

constexpr double kDrawn_deg = 9.0;  // the rotation as drawn, independent of the real one

/// Body and stylus; y is down, the stylus's tip at (120, 128).
constexpr const char* kBody = "<rect x=\"82\" y=\"58\" width=\"76\" height=\"44\" rx=\"3\"/><path d=\"M114 102 L120 128 L126 102\"/>";

std::string arrow(bool clockwise) {
  // The arrow runs above the headshell, from one side to the other.
  return fmt::format("<path class=\"arrow\" d=\"{}\"/>",
                     clockwise ? "M84 24 Q120 6 156 24 M156 24 l-10 -1 M156 24 l-5 -9" : "M156 24 Q120 6 84 24 M84 24 l10 -1 M84 24 l5 -9");
}

}  // namespace

std::string front_view(const Shim& shim) {
  if (!shim.raises || !shim.place_shim_at || stays_where_it_is(shim)) return {};
  const bool clockwise = *shim.raises == Side::kSpindleSide;
  const bool outer_shim = *shim.place_shim_at == Side::kOuterSide;
  const std::string words = fmt::format(
      "This is the cartridge from the front, with the spindle on the left. Turn it {}: its {} side goes up. A shim goes at the {} screw.",
      clockwise ? "clockwise" : "anticlockwise", clockwise ? "spindle" : "outer", outer_shim ? "outer" : "spindle-side");
  return fmt::format(
      "<svg class=\"front\" viewBox=\"0 0 240 150\" role=\"img\" aria-labelledby=\"front-title\"><title id=\"front-title\">{}</title>\n"
      "<g class=\"was\">{}</g><g class=\"becomes\" transform=\"rotate({} 120 128)\">{}</g>\n"
      "<path class=\"shell\" d=\"M70 40 H170 M70 36 V44 M170 36 V44\"/><rect class=\"shim\" x=\"{}\" y=\"43\" width=\"20\" "
      "height=\"7\"/>{}\n"
      "<path class=\"groove\" d=\"M20 128 H104 L120 138 L136 128 H220\"/>\n"
      "<text x=\"4\" y=\"74\">spindle</text><text x=\"4\" y=\"88\">side {}</text>\n"
      "<text x=\"236\" y=\"74\" class=\"end\">outer</text><text x=\"236\" y=\"88\" class=\"end\">side {}</text>\n"
      "<text x=\"{}\" y=\"54\" class=\"{}\">shim</text></svg>\n",
      html_escaped(words), kBody, clockwise ? kDrawn_deg : -kDrawn_deg, kBody, outer_shim ? 142 : 78, arrow(clockwise),
      clockwise ? "↑" : "↓", clockwise ? "↓" : "↑", outer_shim ? 178 : 62, outer_shim ? "" : "end");
}

}  // namespace evenwall::internal::report
