#include "measure/quality.hpp"

#include "support/catch.hpp"

using namespace evenwall;

namespace {

HeardPassage good(Driven driven = Driven::kLeft) {
  HeardPassage p;
  p.passage.driven = driven;
  p.passage.end_s = 5;
  p.passage.level_left_dbfs = -12;
  p.passage.level_right_dbfs = -40;
  p.passage.snr_db = 40;
  p.passage.wow_percent = 0.1;
  p.whole_revolution = true;
  return p;
}

std::vector<std::string> codes(const HeardPassage& p) {
  std::vector<std::string> all;
  for (const Warning& w : passage_warnings({p})) all.push_back(w.code);
  return all;
}

}  // namespace

TEST_CASE("A good passage warns of nothing, each fault of itself alone") {
  CHECK(codes(good()).empty());
  const auto only = [](auto spoil, const char* code) {
    HeardPassage p = good();
    spoil(p);
    CHECK(codes(p) == std::vector<std::string>{code});
  };
  only([](auto& p) { p.clipped_fraction = 0.002; }, "clipped");
  only([](auto& p) { p.passage.level_left_dbfs = -60, p.passage.level_right_dbfs = -90; }, "low_signal");
  only([](auto& p) { p.passage.snr_db = 10; }, "noisy");
  only([](auto& p) { p.lost_fraction = 0.1; }, "dropout");
  only([](auto& p) { p.dc = -0.05; }, "dc_offset");
  only([](auto& p) { p.passage.wow_percent = 0.8; }, "uneven_speed");
  only([](auto& p) { p.whole_revolution = false; }, "short_passage");
}

TEST_CASE("Passages in the opposite order of the record's bands are told") {
  const std::vector<HeardPassage> heard{good(Driven::kLeft), good(Driven::kRight), good(Driven::kBoth)};
  CHECK(order_warnings(heard, {}).empty());
  CHECK(order_warnings(heard, {Band::kLeft, Band::kRight, Band::kLateral}).empty());
  CHECK(order_warnings(heard, {Band::kRight, Band::kLeft}).size() == 1);
  CHECK(order_warnings(heard, {Band::kRight}).empty());  // another number of bands: nothing can be said
}
