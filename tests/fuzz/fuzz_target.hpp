// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the functions that the fuzz targets share. Each target defines LLVMFuzzerTestOneInput, which runs under libFuzzer, or over the
// corpus in an ordinary test.
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

/// The program answers an abort, and an exception that is not caught, with a message of its own (src/sandbox/interruption.cpp). Here both
/// must reach the fuzzer, which keeps the input.
extern "C" [[gnu::used]] inline int LLVMFuzzerInitialize(int* /*count*/, char*** /*words*/) {
  std::signal(SIGABRT, SIG_DFL);
  std::set_terminate(std::abort);
  return 0;
}

/// AddressSanitizer's defaults suit one long run of a program, not many short ones: a seventh of the time went into call stacks of
/// allocations and into fresh pages. Run an input that the fuzzer found again with whole stacks (ASAN_OPTIONS=malloc_context_size=30).
extern "C" [[gnu::used]] inline const char* __asan_default_options() { return "malloc_context_size=4:quarantine_size_mb=16"; }

namespace fuzz {

/// Turns a broken promise into a crash, because both drivers look for crashes.
inline void require(bool holds) {
  if (!holds) std::abort();
}

inline std::string_view text_of(const std::uint8_t* data, std::size_t size) { return {reinterpret_cast<const char*>(data), size}; }

/// Returns a file without a name that holds `bytes`; its path is /proc/self/fd/N.
inline evenwall::internal::storage::Descriptor file_of(std::string_view bytes) {
  evenwall::internal::storage::Descriptor file(::memfd_create("fuzz", MFD_CLOEXEC));
  require(file.get() >= 0);
  evenwall::internal::storage::write_all(file.get(), bytes, "fuzz");
  return file;
}

inline std::string path_of(const evenwall::internal::storage::Descriptor& file) { return "/proc/self/fd/" + std::to_string(file.get()); }

/// Runs `work`, which may refuse its input with a message of one line, but may not fail otherwise. Returns false if it refused.
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
