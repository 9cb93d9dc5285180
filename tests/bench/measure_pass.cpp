// SPDX-License-Identifier: GPL-3.0-or-later
// Runs the library's part of `measure` alone, because the program's confinement refuses the signals with which valgrind ends threads.
#include <cstdio>

#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "evenwall/measure.hpp"

int main(int argc, char** argv) {
  if (argc != 2) return 2;
  try {
    const auto opened = evenwall::open_capture(argv[1]);
    const evenwall::Measurement measured = evenwall::measure(*opened.audio, {});
    std::printf("%zu\n", measured.passages.size());
  } catch (const evenwall::Error& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
  }
  return 0;
}
