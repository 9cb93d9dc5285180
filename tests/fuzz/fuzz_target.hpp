// SPDX-License-Identifier: GPL-3.0-or-later
// What the fuzz targets share. Each defines LLVMFuzzerTestOneInput; it runs under libFuzzer, or over the corpus in an ordinary test.
#pragma once

#include <sys/mman.h>
#include <unistd.h>

#include <csignal>
#include <cstdint>
#include <cstdlib>
#include <exception>
#include <string>
#include <string_view>

#include "evenwall/error.hpp"
#include "storage/descriptor.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

/// The program turns an abort, and an exception that nobody catches, into its own last words (src/sandbox/interruption.cpp): here both must
/// reach the fuzzer, which keeps the input.
extern "C" [[gnu::used]] inline int LLVMFuzzerInitialize(int* /*count*/, char*** /*words*/) {
  std::signal(SIGABRT, SIG_DFL);
  std::set_terminate(std::abort);
  return 0;
}

/// AddressSanitizer's defaults are for one long run of a program, not for many short ones: a seventh of the time went into call stacks of
/// allocations and into fresh pages. An input that is found is run again over the whole stack (ASAN_OPTIONS=malloc_context_size=30).
extern "C" [[gnu::used]] inline const char* __asan_default_options() { return "malloc_context_size=4:quarantine_size_mb=16"; }

namespace fuzz {

/// A promise that did not hold is a crash: that is what both drivers look for.
inline void require(bool holds) {
  if (!holds) std::abort();
}

inline std::string_view text_of(const std::uint8_t* data, std::size_t size) { return {reinterpret_cast<const char*>(data), size}; }

/// A file without a name that holds `bytes`; its path is /proc/self/fd/N.
inline evenwall::internal::storage::Descriptor file_of(std::string_view bytes) {
  evenwall::internal::storage::Descriptor file(::memfd_create("fuzz", MFD_CLOEXEC));
  require(file.get() >= 0);
  evenwall::internal::storage::write_all(file.get(), bytes, "fuzz");
  return file;
}

inline std::string path_of(const evenwall::internal::storage::Descriptor& file) { return "/proc/self/fd/" + std::to_string(file.get()); }

/// Runs what may refuse its input, in one line, but may not fail otherwise. Returns whether it did not refuse.
template <class Work>
bool refuses_or(const Work& work) {
  try {
    work();
    return true;
  } catch (const evenwall::Error& error) {
    require(error.kind() != evenwall::ErrorKind::kInternal);
    require(std::string_view(error.what()).find('\n') == std::string_view::npos);
    return false;
  }
}

}  // namespace fuzz
