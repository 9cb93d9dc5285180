// SPDX-License-Identifier: GPL-3.0-or-later
// Reads text files and streams up to a limit of length, and writes whole text files.
#include "evenwall/text_files.hpp"

#include <fmt/format.h>
#include <sys/stat.h>

#include <algorithm>
#include <cerrno>

#include "evenwall/error.hpp"
#include "storage/descriptor.hpp"
#include "storage/nearest_file.hpp"
#include "storage/whole_file.hpp"

namespace evenwall::internal::storage {
namespace {

constexpr std::size_t kReadBlock = 1 << 16;  // bytes

[[noreturn]] void refuse_length(const std::string& name, std::size_t limit_bytes) {
  refuse(name, fmt::format("the input is longer than {} bytes, the limit for such a file. It is not read. Check that it is the right file.",
                           limit_bytes));
}

std::string read_limited(int descriptor, std::size_t limit_bytes, const std::string& name, std::size_t expected_bytes = 0) {
  std::string text;
  text.reserve(expected_bytes + kReadBlock);  // otherwise growing would hold the text twice
  for (;;) {
    const std::size_t before = text.size();
    text.resize(before + std::min(kReadBlock, limit_bytes - before + 1));
    const std::size_t n = read_some(descriptor, text.data() + before, text.size() - before, name);
    text.resize(before + n);
    if (n == 0) return text;
    if (text.size() > limit_bytes) refuse_length(name, limit_bytes);
  }
}

/// Throws: Error(kInput), which names the nearest file if there is none of this name.
Descriptor open_text(const fs::path& path) {
  try {
    return open_input(path);
  } catch (const Error& error) {
    const std::string nearest = nearest_file_sentence(path);
    if (nearest.empty()) throw;
    throw Error(error.kind(), error.what() + nearest);
  }
}

}  // namespace
}  // namespace evenwall::internal::storage

namespace evenwall {

std::string read_text(const fs::path& path, std::size_t limit_bytes) {
  using namespace internal::storage;
  const Descriptor file = open_text(path);
  struct stat status {};
  if (::fstat(file.get(), &status) != 0) refuse(shown(path), "the file cannot be read: " + errno_text(errno));
  // A file that is too long is refused before a byte of it is held in memory.
  if (status.st_size > static_cast<off_t>(limit_bytes)) refuse_length(shown(path), limit_bytes);
  return read_limited(file.get(), limit_bytes, shown(path), static_cast<std::size_t>(status.st_size));
}

std::string read_stream(int descriptor, std::size_t limit_bytes) {
  return internal::storage::read_limited(descriptor, limit_bytes, descriptor == 0 ? "standard input" : "stream");
}

void write_whole(const fs::path& path, std::string_view text) {
  internal::storage::WholeFile file(path);
  file.write(text);
  file.commit();
}

}  // namespace evenwall
