// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/kept_stream.hpp"

#include <fcntl.h>

#include <utility>
#include <vector>

namespace evenwall::internal::storage {
namespace {

constexpr std::size_t kBlock_bytes = 1U << 18U;

std::optional<KeptStream>& next_kept() {
  static std::optional<KeptStream> next;
  return next;
}

}  // namespace

void keep_standard_input(KeptStream kept) { next_kept() = std::move(kept); }

std::optional<KeptStream> take_kept_stream() { return std::exchange(next_kept(), std::nullopt); }

Descriptor copy_and_keep(int stream, KeptStream kept, const std::string& stream_name) {
  std::vector<char> block(kBlock_bytes);
  bool empty = true;
  while (const std::size_t n = read_some(stream, block.data(), block.size(), stream_name)) {
    write_all(kept.file.get(), {block.data(), n}, kept.name);
    empty = false;
  }
  if (!empty) kept.complete();
  const std::string link = "/proc/self/fd/" + std::to_string(kept.file.get());
  Descriptor for_reading(::open(link.c_str(), O_RDONLY | O_CLOEXEC));
  return for_reading.get() >= 0 ? std::move(for_reading) : std::move(kept.file);  // a container without /proc
}

}  // namespace evenwall::internal::storage
