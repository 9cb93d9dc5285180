// SPDX-License-Identifier: GPL-3.0-or-later
// Runs a fuzz target over files, without a fuzzer: the corpus in an ordinary test run, or one input that a fuzzer found.
#include <fmt/format.h>

#include <chrono>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <set>

#include "fuzz/fuzz_target.hpp"

namespace {

constexpr double kMost_s = 2;  // for one input
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
constexpr bool kSanitized = true;
#else
constexpr bool kSanitized = false;
#endif

std::set<std::filesystem::path> files_below(int count, char** names) {
  std::set<std::filesystem::path> files;
  for (int i = 0; i < count; ++i) {
    if (!std::filesystem::is_directory(names[i])) files.insert(names[i]);
    if (!std::filesystem::is_directory(names[i])) continue;
    for (const auto& entry : std::filesystem::directory_iterator(names[i])) files.insert(entry.path());
  }
  return files;
}

double seconds_for(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  const std::string bytes{std::istreambuf_iterator<char>(file), {}};
  const auto start = std::chrono::steady_clock::now();
  LLVMFuzzerTestOneInput(reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

}  // namespace

int main(int argc, char** argv) {
  LLVMFuzzerInitialize(&argc, &argv);
  const bool slow = kSanitized || (argc > 1 && std::string_view(argv[1]) == "--slow");  // under valgrind
  const int skipped = argc > 1 && std::string_view(argv[1]) == "--slow" ? 2 : 1;
  const auto files = files_below(argc - skipped, argv + skipped);
  if (files.empty()) {
    fmt::print(stderr, "no input is named; name files or folders\n");
    return 1;
  }
  double slowest_s = 0;
  for (const auto& path : files) {
    fmt::print("{}\n", path.filename().string());
    std::fflush(stdout);  // after a crash the last line shows which input it was
    slowest_s = std::max(slowest_s, seconds_for(path));
  }
  fmt::print("{} inputs, the slowest took {:.3f} s\n", files.size(), slowest_s);
  return slow || slowest_s <= kMost_s ? 0 : 1;
}
