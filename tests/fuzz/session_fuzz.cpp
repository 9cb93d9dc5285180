// SPDX-License-Identifier: GPL-3.0-or-later
// Fuzzes whole sessions: the input is a recipe for a few captures (bands, crosstalk, formats, faults of samples and of bytes) and for the
// log that names them. Captures and log change together; every step up to the solution must succeed or refuse. Captures have the lowest
// sample rates and the shortest lengths that the method accepts, so that a minute is enough for thousands.
#include <algorithm>
#include <cmath>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <limits>
#include <vector>

#include "app/session_input.hpp"
#include "app/steps_csv.hpp"
#include "evenwall/files.hpp"
#include "evenwall/report.hpp"
#include "evenwall/solve.hpp"
#include "fuzz/fuzz_target.hpp"
#include "support/temp_folder.hpp"
#include "support/wav_bytes.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

namespace {

constexpr double kPi = 3.14159265358979323846;

class Recipe {
 public:
  explicit Recipe(std::string_view bytes) : rest_(bytes) {}
  unsigned byte() {
    if (rest_.empty()) return 0;
    const auto value = static_cast<unsigned char>(rest_.front());
    rest_.remove_prefix(1);
    return value;
  }
  unsigned below(unsigned limit) { return byte() % limit; }
  std::size_t word() {
    const std::size_t high = byte();
    return high * 256 + byte();
  }
  [[nodiscard]] std::string_view rest() const { return rest_; }

 private:
  std::string_view rest_;
};

struct Samples {
  double rate_hz;
  std::vector<float> values;
};

void add_band(Recipe& recipe, Samples& to) {
  constexpr double kLengths_s[] = {0.02, 0.3, 0.55, 0.55, 0.6, 0.6, 0.7, 1.0};  // a tone of half a second or more is a passage
  constexpr double kTones_hz[] = {1000, 1000, 1000, 955, 315, 3150, 50, 0};
  const unsigned driven = recipe.below(4);  // 3: both, out of phase
  const double hz = kTones_hz[recipe.below(8)];
  const double level = std::pow(2.0, -0.25 * recipe.below(64));
  const double leak = std::pow(2.0, -0.1 * recipe.byte());
  const double phase = 2 * kPi * recipe.byte() / 256;
  const auto frames = static_cast<int>(to.rate_hz * kLengths_s[recipe.below(8)]);
  for (int n = 0; n < frames; ++n) {
    const double t = 2 * kPi * hz * n / to.rate_hz;
    const double own = level * std::cos(t);
    const double other = driven == 2 ? own : driven == 3 ? -own : level * leak * std::cos(t + phase);
    to.values.push_back(static_cast<float>(driven == 1 ? other : own));
    to.values.push_back(static_cast<float>(driven == 1 ? own : other));
  }
}

void spoil_samples(Recipe& recipe, Samples& of) {
  constexpr float kOdd[] = {0, 1, -1, 1e30F, 1e-40F, std::numeric_limits<float>::infinity(), std::numeric_limits<float>::quiet_NaN(), 0.5F};
  for (unsigned i = recipe.below(4); i > 0 && !of.values.empty(); --i) {
    const std::size_t at = recipe.word() * 3 % of.values.size();
    const float value = kOdd[recipe.below(8)];
    const std::size_t length = std::min<std::size_t>(std::size_t{1} << recipe.below(12), of.values.size() - at);
    std::fill_n(of.values.begin() + static_cast<std::ptrdiff_t>(at), length, value);
  }
}

std::string wav_of(const Samples& samples, bool floating) {
  std::string body;
  for (const float x : samples.values) {
    std::uint32_t bits = 0;
    std::memcpy(&bits, &x, sizeof bits);
    body += floating ? wav::le(bits) : wav::le(static_cast<std::int16_t>(std::isfinite(x) ? std::clamp(x, -1.0F, 1.0F) * 32767 : 0));
  }
  const wav::Format format{static_cast<std::uint16_t>(floating ? 3 : 1), 2, static_cast<std::uint32_t>(samples.rate_hz),
                           static_cast<std::uint16_t>(floating ? 32 : 16)};
  return wav::riff(wav::chunk("fmt ", wav::fmt_body(format)) + wav::chunk("data", body));
}

std::string capture_of(Recipe& recipe) {
  Samples samples{recipe.below(8) == 7 ? 11025.0 : 8000.0, {}};
  const bool floating = recipe.below(2) == 1;
  for (unsigned bands = recipe.below(4); bands > 0; --bands) add_band(recipe, samples);
  spoil_samples(recipe, samples);
  std::string bytes = wav_of(samples, floating);
  for (unsigned i = recipe.below(4); i > 0; --i) bytes[recipe.word() % 64 % bytes.size()] = static_cast<char>(recipe.byte());
  if (recipe.below(8) == 0) bytes.resize(bytes.size() - recipe.word() % bytes.size());
  return bytes;
}

std::string log_of(Recipe& recipe, unsigned captures) {
  constexpr const char* kHeads[] = {"capture,tilt_deg", "capture,tilt_units", "capture,tilt_deg,from_s,to_s",
                                    "capture,tilt_deg,use,tilt_u"};
  constexpr const char* kMore[] = {"", "", ",,", ",verify,0.1", ",as_found,", ",0,1.2", ",1.1,9", ",yes,0"};
  const unsigned head = recipe.below(4);
  std::string log = kHeads[head];
  for (unsigned rows = recipe.below(8); rows > 0; --rows) {
    const int tenths = static_cast<int>(recipe.byte()) - 128;
    const std::string more = head < 2 ? "" : kMore[2 + recipe.below(6)];
    log += "\nc" + std::to_string(recipe.below(captures + 1)) + ".wav," + std::to_string(tenths / 10) + "." +
           std::to_string(std::abs(tenths) % 10) + more;
  }
  return log + "\n" + std::string(recipe.rest());
}

const TempFolder& folder() {
  static const TempFolder made;
  return made;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  Recipe recipe(fuzz::text_of(data, size));
  const unsigned first = recipe.byte();
  const unsigned captures = 1 + first % 3;
  const bool to_the_end = first < 64;  // solving takes half of the time, and another target tests it (readings)
  for (unsigned i = 0; i < captures; ++i) folder().write("c" + std::to_string(i) + ".wav", capture_of(recipe));
  folder().write("steps.csv", log_of(recipe, captures));
  fuzz::refuses_or([&] {
    const Session session = session_from(folder().path().string(), {}, 1);
    if (!to_the_end) return;
    const Solution solution = solve(session, {});
    const std::string json = to_json(solution);
    for (const char* none : {":nan", ":-nan", ":inf", ":-inf"}) fuzz::require(json.find(none) == std::string::npos);
    fuzz::require(to_json(solution_from_json(json, "again")) == json);
    fuzz::require(!solution_text(solution, false).empty() && !crosstalk_chart_text(solution).empty() && !steps_csv(solution).empty());
  });
  return 0;
}
