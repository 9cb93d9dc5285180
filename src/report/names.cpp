#include "evenwall/report.hpp"

namespace evenwall {

std::string name_of(Basis basis) { return basis == Basis::kEqualCrosstalk ? "equal_crosstalk" : "least_crosstalk"; }

std::string name_of(Side side) { return side == Side::kSpindleSide ? "spindle_side" : "outer_side"; }

}  // namespace evenwall
