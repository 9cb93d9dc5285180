// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/no_answer.hpp"

#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/refusal.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

TEST_CASE("A refusal states what was found, that the recording is not measured, and what to do") {
  CHECK(refusal_of([] { no_answer("the recording is silent", "Check the leads"); }, ErrorKind::kData) ==
        "the recording is silent. The recording is not measured. Check the leads.");
}

TEST_CASE("A missing frequency is reported with the tones of the recording, and with the cause if one is shifted") {
  const auto refused = [](std::vector<AtFrequency> all) { return refusal_of([&] { refuse_frequency(all, 1000); }, ErrorKind::kData); };
  const std::string fast = refused({{315, true, {}, {}, {}}, {1352.3, true, {}, {}, {}}});
  CHECK(holds(fast, "no tone of one channel lies within 5 % of 1000.0 Hz; the recording has 315.0 Hz, 1352.3 Hz."));
  CHECK(holds(fast, "1352.3 Hz matches if a 33 1/3 rpm record was played at 45 rpm."));
  CHECK_FALSE(holds(refused({{315, true, {}, {}, {}}}), "matches"));
}
